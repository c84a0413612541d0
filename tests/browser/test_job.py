"""The program's own screens of the demo job, in a browser, reached by pressing alone; each is kept as a picture.

The pictures lie in target/screens/ for whoever wants to look; README shows a few of them.
"""

import pathlib
import subprocess

import pytest
from selenium.webdriver.support.ui import WebDriverWait

import desk

PICTURES = pathlib.Path("target/screens")

# Where each screen is, from the front page: what to press, one after another. A word presses the first thing that
# holds it; "tag:B3" presses the row with that tape.
MORNING = {
    "front": [],
    "box-planned": ["tag:B3", "found", "planned"],
    "note-a-run": ["tag:B3", "Note a run"],
    "note-a-device": ["tag:B3", "Note a device"],
    "box-an-end-in-hand": ["tag:B3", "Everything in it", "B: 14-3", "traveler 1"],
    "note-a-splice": ["tag:B3", "Note a splice"],
    "labels": ["tag:B3", "Labels"],
    "note-a-box": ["Note a box"],
    "sources": ["Sources"],
    "dead-check-held": ["tag:B3", "Dead check"],
    "what-was-asked": ["What was asked"],
    "boxes-to-open": ["Boxes to open"],
    "people-and-kit": ["Site, people, kit"],
    "circuit-planned": ["exactly:Circuit"],
    "switch-table-planned": ["Switch table"],
    "findings-morning": ["Findings"],
}
DISAGREEMENT = {
    "front-16-10": [],
    "circuit-disagreement": ["exactly:Circuit"],
    "live-check": ["Live check"],
    "disagreement": ["exactly:See what disagrees"],
    "dead-check-stale": ["tag:B3", "Dead check"],
}
EVENING = {
    "front-evening": [],
    "box-left": ["tag:B3"],
    "box-ceiling": ["tag:B7"],
    "box-through": ["tag:B6"],
    "circuit-left": ["exactly:Circuit"],
    "box-as-list": ["tag:B3", "Everything in it"],
    "history": ["tag:B3", "Everything in it", "History"],
    "switch-table-left": ["Switch table"],
    "findings": ["Findings"],
    "day-record": ["Day record"],
}


PRESS = """
const what = arguments[0].toLowerCase();
const tag = what.startsWith("tag:") ? what.slice(4) : null;
const whole = what.startsWith("exactly:") ? arguments[0].slice(8) : null;
const things = [...document.querySelectorAll("#screen button, #screen [role=button], #screen a")];
const seen = things.filter(thing => thing.offsetParent !== null);
const fits = text => {
  if (tag) return text.split("\\n")[0].trim().toLowerCase() === tag;
  return whole ? text.trim() === whole : text.toLowerCase().includes(what);
};
const found = seen.find(thing => fits(thing.innerText ?? ""));
if (!found) return seen.map(thing => (thing.innerText ?? "").replaceAll("\\n", " / ")).join(" | ");
found.click();
return null;
"""


def at(driver):
    """Where the page is."""
    return driver.execute_script("return document.querySelector('#screen').dataset.address")


def press(driver, what):
    """Presses one thing and waits for the screen that follows. Found and pressed in one go: the page swaps screens."""
    before = at(driver)
    missing = driver.execute_script(PRESS, what)
    assert missing is None, f"nothing to press for {what!r}; there is {missing}"
    settled = """
    const screen = document.querySelector("#screen");
    const busy = document.documentElement.className.includes("busy");
    return !busy && screen.dataset.address !== arguments[0];
    """
    WebDriverWait(driver, 20, poll_frequency=0.05).until(lambda d: d.execute_script(settled, before))


def picture(driver, name):
    """Keeps the whole screen as a picture, in light and dark."""
    PICTURES.mkdir(parents=True, exist_ok=True)
    for theme in ("noon", "cellar"):
        desk.dark(driver, theme == "cellar")
        driver.save_screenshot(str(PICTURES / f"{name}-{theme}.png"))
    desk.dark(driver, False)


@pytest.fixture(scope="module", params=["morning", "disagreement", "evening"])
def job(request, tmp_path_factory):
    """The demo job at one of its moments, served by the program."""
    folder = tmp_path_factory.mktemp("job") / request.param
    subprocess.run([desk.BOXPROOF, "demo", folder, "--until", request.param], check=True, capture_output=True)
    program = desk.Program(desk.BOXPROOF, "page", folder)
    program.moment = request.param
    yield program
    assert program.stop() == 0


def test_every_screen_of_the_job(job, browser):
    ways = {"morning": MORNING, "disagreement": DISAGREEMENT, "evening": EVENING}[job.moment]
    desk.asked_for(browser)  # what the browser asked for by itself when it began
    browser.get(job.address)
    if at(browser).startswith("sites"):
        press(browser, "Lantern Lane")
    for name, presses in ways.items():
        desk.resize(browser, 390, 844)
        while not at(browser).startswith("job "):
            press(browser, "exactly:Back")
        for what in presses:
            press(browser, what)
        height = browser.execute_script("return document.documentElement.scrollHeight")
        desk.resize(browser, 390, min(max(height, 844), 2400))
        picture(browser, name)
        text = browser.execute_script("return document.querySelector('#screen').innerText")
        assert len(text) > 40, f"{name} is as good as empty: {text!r}"
        wide = browser.execute_script("return document.documentElement.scrollWidth")
        assert wide <= 390, f"{name} runs {wide - 390} px off the side"
        for sign in ("{", "}", "screen.", "checks.", "tell."):
            assert sign not in text, f"{name} shows {sign!r}: {text}"
        assert not desk.complaints(browser), name
        asked, _ = desk.asked_for(browser)
        foreign = [a for a in asked if not a.startswith((f"http://{job.host}/", "data:", "chrome:"))]
        assert not foreign, foreign
