"""What a person does on the page: press, type, go back, hand in a file, with a thumb and with a keyboard."""

import time

import pytest
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import WebDriverWait

import desk


def one(page, selector):
    return page.find_element(By.CSS_SELECTOR, selector)


def until(page, what):
    return WebDriverWait(page, 10, poll_frequency=0.02).until(what)


def count(page):
    """How many acts the gallery has taken, and the last one."""
    # Read in one go: the screen may be swapped between finding a row and reading it.
    text = page.execute_script("return document.querySelector('#row-count').textContent")
    acts, last = text.removeprefix("acts ").split("; last")
    return int(acts), last.strip()


def at(page):
    """Where the page is."""
    return page.execute_script("return document.querySelector('#screen').dataset.address")


def settled(page):
    """Waits until nothing is under way."""
    until(page, lambda p: "busy" not in (one(p, "html").get_attribute("class") or ""))


def button(page, text, within="#screen"):
    return one(page, within).find_element(By.XPATH, f".//button[span[normalize-space()='{text}']]")


def press(page, text, within="#screen"):
    """A press away from the last one in time: two quick ones on one spot are one, which has a test of its own."""
    time.sleep(0.45)
    button(page, text, within).click()
    settled(page)


KINDS = {
    "headline": "#row-ask.head h2",
    "sentence": "#row-count.txt",
    "hazard": "#row-hazard.haz .hatch",
    "caution": "#row-caution.cau",
    "item": "button#row-iso.r .go",
    "blank": "#row-volts form.blank input[data-number=yes]",
    "choice": "#row-layer .pick.on[aria-pressed=true]",
    "figure": "#row-f1 .v small",
    "figure to be read": "#row-f2.now .v.big .gap",
    "figure with limit": "#row-f3 svg.bar",
    "trial": "#row-t1 .sw svg",
    "trial with answers": "#row-t3 .o .pick",
    "strands": "#row-strands .chip svg",
    "drawing": "#row-picture svg.picture a.place",
    "grid": "#row-table table td",
    "step": "#row-step1.step.now .n",
    "step done": "#row-step2.step.done .n",
    "deeds": "nav.deeds .deed.main",
}


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_row_is_drawn(page, kind):
    found = one(page, KINDS[kind])
    box = found.rect
    assert box["width"] > 0 and box["height"] > 0


def test_every_state_has_an_edge_of_its_own(page):
    page.execute_script("document.querySelector('#row-iso').click()")
    until(page, lambda p: at(p) == "dead")
    one(page, "#row-g").click()
    until(page, lambda p: at(p) == "edges")
    edges = page.find_elements(By.CSS_SELECTOR, ".edge")
    pictures = {edge.get_attribute("innerHTML") for edge in edges}
    states = {edge.get_attribute("data-state") for edge in edges}
    assert states == {"unknown", "planned", "found", "unchecked", "left", "stale", "disagrees"}
    assert len(pictures) == 7
    for row in page.find_elements(By.CSS_SELECTOR, "section button.r"):
        assert row.get_attribute("aria-label")


def test_a_press_sends_its_token_and_shows_what_comes(page):
    acts, _ = count(page)
    press(page, "planned")
    assert count(page) == (acts + 1, "pick planned")


def test_a_double_tap_notes_once(page):
    acts, _ = count(page)
    time.sleep(0.45)
    ActionChains(page).double_click(button(page, "slow")).perform()
    time.sleep(0.5)
    settled(page)
    assert count(page)[0] == acts + 1


def test_a_second_thumb_on_what_was_just_drawn_anew_notes_nothing(page):
    """The answer is there before the second tap: the revision is new, the spot is the same."""
    acts, _ = count(page)
    time.sleep(0.45)
    chosen = button(page, "planned")
    ActionChains(page).move_to_element(chosen).click().perform()
    until(page, lambda p: count(p)[0] == acts + 1)
    ActionChains(page).click().perform()
    time.sleep(0.3)
    settled(page)
    assert count(page)[0] == acts + 1


def test_an_old_revision_notes_nothing(page):
    press(page, "planned")
    acts, _ = count(page)
    page.execute_script("document.querySelector('#screen').dataset.drawn = '0'")
    press(page, "left")
    assert count(page)[0] == acts


def test_a_refusal_stands_in_a_banner_and_keeps_what_was_typed(page):
    one(page, "#in-volts").send_keys("119.6")
    press(page, "refused")
    banner = one(page, "#banner")
    assert banner.is_displayed() and "Add one first." in banner.text
    assert banner.get_attribute("role") == "alert"
    assert page.switch_to.active_element == banner.find_element(By.TAG_NAME, "button")
    page.switch_to.active_element.send_keys(Keys.ENTER)
    assert not banner.is_displayed()
    assert one(page, "#in-volts").get_attribute("value") == "119.6"
    assert page.switch_to.active_element == button(page, "refused")
    assert desk.complaints(page) == []


def test_a_panic_of_the_core_is_told_and_ends_nothing(page):
    press(page, "breaks")
    assert "kept" in one(page, "#banner").text
    page.switch_to.active_element.send_keys(Keys.ENTER)
    press(page, "planned")
    assert count(page)[1] == "pick planned"


def test_typed_text_focus_and_scroll_stay_when_the_screen_is_drawn_anew(page):
    one(page, "#in-place").clear()
    one(page, "#in-place").send_keys("by the window")
    page.execute_script("document.querySelector('.rows').scrollTop = 300")
    time.sleep(0.45)
    page.execute_script("document.activeElement.blur()")
    button(page, "slow").send_keys(Keys.ENTER)
    time.sleep(0.4)
    settled(page)
    assert one(page, "#in-place").get_attribute("value") == "by the window"
    assert page.switch_to.active_element == button(page, "slow")
    # Focus by keyboard may itself have scrolled; what counts is that the page did not jump back to its top.
    assert page.execute_script("return document.querySelector('.rows').scrollTop") >= 200


def test_a_number_is_typed_and_entered_with_the_enter_key(page):
    field = one(page, "#in-volts")
    field.send_keys("120.6", Keys.ENTER)
    until(page, lambda p: count(p)[1] == "volts is 120.6")
    assert one(page, "#in-volts").get_attribute("value") == ""
    assert page.switch_to.active_element == one(page, "#in-volts")


def test_an_option_that_asks_opens_a_dialog(page):
    press(page, "number")
    dialog = one(page, "#ask")
    assert dialog.get_attribute("open") is not None
    assert one(page, "#ask-label").text == "Amps in the clamp"
    field = page.switch_to.active_element
    assert field.get_attribute("inputmode") == "none"
    assert one(page, "#ask-unit").text == "A"
    field.send_keys("0.3", Keys.ENTER)
    until(page, lambda p: count(p)[1] == "typed 0.3")
    acts, _ = count(page)
    press(page, "number")
    page.switch_to.active_element.send_keys("9", Keys.ESCAPE)
    assert dialog.get_attribute("open") is None
    assert count(page)[0] == acts


def test_a_file_is_handed_in(page, tmp_path):
    entries = tmp_path / "phone 2.jsonl"
    entries.write_text('{"v":1}')
    press(page, "file")
    one(page, "#ask-file").send_keys(str(entries))
    one(page, "#ask .enter").click()
    until(page, lambda p: count(p)[1] == 'import {"v":1}')


def test_a_file_is_handed_out(page):
    press(page, "hand out")
    link = one(page, "a.fetch")
    assert link.get_attribute("download") == "day record, B3.csv"
    text = page.execute_async_script(
        "const done = arguments[1]; fetch(arguments[0]).then((a) => a.text()).then(done)", link.get_attribute("href")
    )
    assert "B3,as left" in text


def test_the_way_back_holds_each_screen_once(page):
    assert not one(page, "[data-back]").is_displayed()
    one(page, "#row-iso").click()
    until(page, lambda p: at(p) == "dead")
    one(page, "#row-g").click()
    until(page, lambda p: at(p) == "edges")
    time.sleep(0.45)
    one(page, "#row-b0").click()  # leads to the dead check, which is on the way already
    until(page, lambda p: at(p) == "dead")
    page.refresh()
    until(page, lambda p: at(p) == "dead")
    settled(page)
    press(page, "Back")
    until(page, lambda p: at(p) == "kinds")
    assert not one(page, "[data-back]").is_displayed()


def test_the_browsers_own_way_back_does_the_same(page):
    one(page, "#row-iso").click()
    until(page, lambda p: at(p) == "dead")
    page.back()
    until(page, lambda p: at(p) == "kinds")


def test_a_place_in_a_picture_is_touched_and_reached_by_keyboard(page):
    place = one(page, "#row-picture a.place")
    assert place.get_attribute("aria-label") == "cable 0, black, not known"
    page.execute_script("arguments[0].scrollIntoView({block: 'center'})", place)
    place.click()
    until(page, lambda p: count(p)[1] == "touch 0")
    place = page.find_elements(By.CSS_SELECTOR, "#row-picture a.place")[1]
    page.execute_script("arguments[0].focus()", place)
    ActionChains(page).send_keys(Keys.ENTER).perform()
    until(page, lambda p: count(p)[1] == "touch 1")
    place = page.find_elements(By.CSS_SELECTOR, "#row-picture a.place")[2]
    page.execute_script("arguments[0].focus()", place)
    ActionChains(page).send_keys(Keys.SPACE).perform()
    until(page, lambda p: count(p)[1] == "touch 2")


def test_a_wide_picture_moves_by_buttons(page):
    assert one(page, "#row-picture .ends").is_displayed()
    right = page.find_element(By.CSS_SELECTOR, "[data-pan='1']")
    right.send_keys(Keys.ENTER)
    assert page.execute_script("return document.querySelector('.pan').scrollLeft") > 50


def test_all_can_be_reached_and_seen_with_the_keyboard(page):
    """Tab goes through every button, link and field in the order in which they stand, and focus is always seen."""
    page.execute_script("document.querySelector('h1').focus()")
    expected = page.execute_script(
        "return [...document.querySelectorAll('#screen button,#screen a,#screen input,#screen summary')]"
        ".filter((e) => e.checkVisibility()).length"
    )
    reached = []
    for _ in range(expected + 10):
        ActionChains(page).send_keys(Keys.TAB).perform()
        here = page.execute_script(
            "const e = document.activeElement, r = e.getBoundingClientRect(), s = getComputedStyle(e);"
            "const inner = e.matches('a.place') ? getComputedStyle(e.querySelector('rect')) : null;"
            "return [e.dataset.f || e.dataset.pan || e.tagName + (e.id || e.dataset.to || ''),"
            " inner ? parseFloat(inner.strokeWidth) >= 3 && inner.stroke !== 'none'"
            "       : s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) >= 3,"
            " e.matches('button,a,input,summary'), e.compareDocumentPosition(document.querySelector('h1'))]"
        )
        if here[0] in reached or here[0].startswith("BODY"):
            break
        if here[2]:
            reached.append(here[0])
            assert here[1], f"focus on {here[0]} is not seen"
    assert len(reached) == expected, (len(reached), expected, reached)


def test_what_changed_is_said(page):
    one(page, "#row-iso").click()
    until(page, lambda p: one(p, "#live").get_attribute("textContent") == "Dead check, again")
    assert page.switch_to.active_element == one(page, "h1")
    assert one(page, "#live").get_attribute("aria-live") == "polite"


def test_the_light_can_be_chosen_and_is_kept(page, gallery):
    def paper():
        return page.execute_script("return getComputedStyle(document.body).backgroundColor")

    noon = paper()
    desk.dark(page, True)
    cellar = paper()
    assert noon != cellar
    one(page, "summary").click()
    press(page, "noon")
    assert paper() == noon
    page.get(gallery.address)
    assert paper() == noon
    desk.dark(page, False)
    one(page, "summary").click()
    press(page, "cellar")
    assert paper() == cellar


def test_actions_mirror_for_the_left_hand(page):
    def order():
        deeds = page.find_elements(By.CSS_SELECTOR, ".deed")
        return [deed.text for deed in sorted(deeds, key=lambda deed: deed.rect["x"]) if deed.is_displayed()]

    right = order()
    one(page, "summary").click()
    press(page, "left", ".settings")
    assert order() == right[::-1]


def test_nothing_is_asked_of_another_host_and_the_first_paint_is_small(browser, gallery):
    desk.uncached(browser, True)
    desk.asked_for(browser)
    browser.get(gallery.address)
    time.sleep(0.5)
    addresses, size = desk.asked_for(browser)
    desk.uncached(browser, False)
    assert addresses and all(address.startswith(f"http://{gallery.host}/") for address in addresses), addresses
    # The page, its style sheet and its script: what was kept by the browser would count for nothing.
    assert {address.rsplit("/", 1)[1] for address in addresses} >= {"", "page.css", "page.js"}, addresses
    assert 20_000 < size < 100_000, size
    assert desk.complaints(browser) == []


def test_a_page_without_its_key_says_where_to_find_it(browser, gallery):
    browser.get(gallery.address)
    browser.delete_all_cookies()
    browser.get(f"http://{gallery.host}/")
    assert "address that boxproof printed" in browser.find_element(By.TAG_NAME, "body").text


def test_a_program_that_has_ended_is_told(browser):
    program = desk.Program(desk.GALLERY)
    browser.get(program.address)
    assert program.stop() == 0
    button(browser, "planned").click()
    until(browser, lambda b: "Start boxproof again" in one(b, "#banner").text)
