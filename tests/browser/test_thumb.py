"""The demo job on the page by touches alone, from an empty notebook to a record; the Rust tests play the same files."""

import pathlib
import time

import pytest
from selenium.webdriver.common.by import By

import desk
import thumb

TOUCHES = pathlib.Path("tests/thumb")
JOB = ["first-visit", "first-visit-rest", "morning", "plan", "afternoon", "evening"]


@pytest.fixture(name="empty")
def an_empty_notebook(tmp_path, browser):
    """The page of a notebook in which nothing is noted."""
    desk.resize(browser, 390, 844)
    program = desk.Program(desk.BOXPROOF, "page", tmp_path / "book")
    desk.complaints(browser)  # what the browser said of other pages
    try:
        browser.get(program.address)
        yield browser
        assert not desk.complaints(browser)
    finally:
        assert program.stop() == 0


def test_a_first_visit_is_noted_by_touch(empty):
    thumb.play(empty, (TOUCHES / "first-visit.txt").read_text())
    read = thumb.text(empty)
    for words in ("cellar, by panel", "constant hot"):
        assert words in read, read


def test_the_whole_job_is_noted_by_touch_and_its_record_handed_out(empty):
    began = time.monotonic()
    for name in JOB:
        thumb.play(empty, (TOUCHES / f"{name}.txt").read_text())
    print(f"played in {time.monotonic() - began:.0f} s")
    link = empty.find_element(By.CSS_SELECTOR, "a.fetch")
    assert link.get_attribute("download").endswith(".html")
    fetch = "const done = arguments[1]; fetch(arguments[0]).then((a) => a.text()).then(done)"
    record = empty.execute_async_script(fetch, link.get_attribute("href"))
    # Facts of the day that a person typed or saw, as the record words them.
    for words in (
        "W. Tolliver",
        "J-0417",
        "Back stair, wall light",
        "Stair light, cellar receptacle, glue bench and whatever B8 feeds go off for the day.",
        "foot of stair",
        "switch and receptacle on one yoke",
        "NEUT B5",
        "120.6 V",
        "121.4 V",
        "exchanged at 16:34",
        "The wall wants plaster.",
        "Run B is live at our end",
        "two-gang plate",
    ):
        assert words in record, words
