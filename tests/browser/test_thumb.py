"""The demo's first visit on the page, from an empty notebook, by touches alone; the Rust tests play the same file."""

import pathlib

import desk
import thumb

VISIT = pathlib.Path("tests/thumb/first-visit.txt")


def test_a_first_visit_is_noted_by_touch(tmp_path, browser):
    program = desk.Program(desk.BOXPROOF, "page", tmp_path / "book")
    desk.complaints(browser)  # what the browser said of other pages
    try:
        browser.get(program.address)
        thumb.play(browser, VISIT.read_text())
        read = thumb.text(browser)
        for words in ("cellar, by panel", "4 of 5 ports"):
            assert words in read, read
        assert not desk.complaints(browser)
    finally:
        assert program.stop() == 0
