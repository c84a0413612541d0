"""The program's own screens of the demo job, in a browser, reached by pressing alone; each is kept as a picture.

The pictures lie in target/screens/ for whoever wants to look, in both themes, with text as set and twice as large;
README shows a few of them. `tests/browser/screens` makes them anew and nothing else. A screen is added in ways.txt.
"""

import pathlib

import pytest
from selenium.webdriver.support.ui import WebDriverWait

import desk
import look
import walk

PICTURES = pathlib.Path("target/screens")

HEIGHT = """
const rows = document.querySelector(".rows"), large = document.documentElement.classList.contains("large");
const bars = document.querySelector(".top").offsetHeight + document.querySelector(".deeds").offsetHeight;
return Math.max(large ? document.documentElement.scrollHeight : rows.scrollHeight + bars, 844);
"""


def picture(driver, name):
    """Keeps the whole screen as a picture, in light and dark."""
    PICTURES.mkdir(parents=True, exist_ok=True)
    height = driver.execute_script(HEIGHT)
    # The tall window shows what has to be scrolled to on a phone; a very long list need not be shown whole.
    desk.resize(driver, 390, min(height, 4000))
    for theme in ("noon", "cellar"):
        desk.dark(driver, theme == "cellar")
        driver.save_screenshot(str(PICTURES / f"{name}-{theme}.png"))
    desk.dark(driver, False)
    desk.resize(driver, 390, 844)


@pytest.fixture(scope="module", params=walk.MOMENTS)
def job(request, tmp_path_factory):
    """The demo job at one of its moments, served by the program."""
    program = walk.serve(tmp_path_factory.mktemp("job") / request.param, request.param)
    program.moment = request.param
    yield program
    assert program.stop() == 0


def test_the_first_paint_is_small(job, browser):
    """Bytes as they came over the wire, the browser having kept nothing: style sheet, script, page."""
    desk.uncached(browser, True)
    browser.get("about:blank")
    desk.asked_for(browser)
    browser.get(job.address)
    WebDriverWait(browser, 10).until(lambda b: b.execute_script("return document.readyState") == "complete")
    addresses, size = desk.asked_for(browser)
    desk.uncached(browser, False)
    assert {address.rsplit("/", 1)[1] for address in addresses} >= {"page.css", "page.js"}, addresses
    assert 20_000 < size < 100_000, size


def test_every_screen_of_the_job(job, browser):
    desk.asked_for(browser)  # what the browser asked for by itself when it began
    walk.begin(browser, job)
    wrong = []
    for name in walk.walk(browser, job.moment):
        text = browser.execute_script("return document.querySelector('#screen').innerText")
        assert len(text) > 40, f"{name} is as good as empty: {text!r}"
        for sign in ("{", "}", "screen.", "checks.", "tell."):
            assert sign not in text, f"{name} shows {sign!r}: {text}"
        for scale, suffix in ((1, ""), (2, "-large")):
            look.text_size(browser, scale)
            for width in (360, 390):
                desk.resize(browser, width, 844)
                wrong += [f"{name}{suffix} at {width}: {fault}" for fault in look.faults(browser)]
            picture(browser, name + suffix)
        look.text_size(browser, 1)
        assert not desk.complaints(browser), name
        asked, _ = desk.asked_for(browser)
        foreign = [a for a in asked if not a.startswith((f"http://{job.host}/", "data:", "chrome:"))]
        assert not foreign, foreign
    assert not wrong, "\n".join(wrong)


def test_a_laptop_shows_the_circuit_left_and_the_findings_right(job, browser):
    """The same rows as on a phone stand in the middle; what stands beside them comes from pages of their own."""
    desk.resize(browser, 390, 844)
    walk.begin(browser, job)
    while not walk.at(browser).startswith("job "):
        walk.press(browser, "exactly:Back")
    middle = "return document.querySelector('.columns').innerText"
    phone = browser.execute_script(middle)
    edges = "return [...document.querySelectorAll('.beside, .columns')].map(e => [e.className, e.getBoundingClientRect().left, e.checkVisibility()])"
    seen = {name.split()[-1]: (left, shown) for name, left, shown in browser.execute_script(edges)}
    assert {"left", "right"} <= seen.keys(), f"{seen} at {walk.at(browser)}"
    assert not seen["left"][1] and not seen["right"][1], "there is no room on a phone"
    for width in (900, 1199, 1200, 1400):
        desk.resize(browser, width, 900)
        assert look.faults(browser) == [], width
        seen = {name.split()[-1]: (left, shown) for name, left, shown in browser.execute_script(edges)}
        assert all(shown for _, shown in seen.values()), seen
        assert seen["left"][0] < seen["columns"][0], seen
        assert (seen["columns"][0] < seen["right"][0]) == (width >= 1200), seen
        assert browser.execute_script(middle) == phone
    assert len(browser.find_elements("css selector", ".beside.left svg.picture")) == 1
    names = browser.execute_script("return [...document.querySelectorAll('[id]')].map(e => e.id)")
    assert len(names) == len(set(names)), "no name stands twice"
    # A place of the picture leads on as it does on its own page.
    press = "document.querySelector('.beside.left a.place').dispatchEvent(new MouseEvent('click', {bubbles: true, cancelable: true}))"
    browser.execute_script(press)
    WebDriverWait(browser, 10).until(lambda b: walk.at(b).startswith("box "))
    desk.resize(browser, 390, 844)
