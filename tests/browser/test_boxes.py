"""Boxes that are hard to draw, noted through the program and drawn by the page; each is kept in target/pictures/.

The layout asks no font how wide words are; the browser does, so it is the outside check here: by its own measure no
words of a picture lie on others, and none leave the picture.
"""

import pathlib
import subprocess

import pytest
from selenium.webdriver.common.by import By

import desk
import look
from test_look import show

SCRIPT = pathlib.Path(__file__).parent / "boxes.txt"
PICTURES = pathlib.Path("target/pictures")

def read():
    """The events, and what is drawn: name, box, layer."""
    events, drawn = [], []
    for line in SCRIPT.read_text().splitlines():
        if line.startswith("== "):
            drawn.append(line.split()[1:])
        elif line.strip() and not line.startswith("#"):
            events.append(line)
    return events, drawn


def run(*words):
    """Runs the program; findings are no fault."""
    ran = subprocess.run([desk.BOXPROOF, *words], capture_output=True, text=True)
    assert ran.returncode in (0, 1), ran.stderr


def note_all(folder, other, events):
    """Notes events; those of two phones on both, which exchange before and after."""
    together = []
    for event in [*events, None]:
        if event is not None and not event.startswith("||"):
            together.append(event)
            continue
        if together:
            run("note", folder, *together)
            together = []
        if event is not None:
            here, there = [part.strip() for part in event.split("||")[1:]]
            lines = folder.parent / "lines.jsonl"
            run("entries", folder, "--out", lines)
            run("entries", other, "--take", lines)
            run("note", folder, here)
            run("note", other, there)
            run("entries", other, "--out", lines)
            run("entries", folder, "--take", lines)


@pytest.fixture(scope="module")
def boxes(tmp_path_factory):
    """All boxes in one notebook, served by the program."""
    folder = tmp_path_factory.mktemp("boxes") / "book"
    note_all(folder, folder.parent / "other", read()[0])
    program = desk.Program(desk.BOXPROOF, "page", folder)
    yield program
    assert program.stop() == 0


@pytest.mark.parametrize("name,box,layer", read()[1])
def test_a_box_that_is_hard_to_draw(browser, boxes, name, box, layer):
    desk.resize(browser, 390, 844)
    browser.get(boxes.address)
    show(browser, f"box {box} layer={layer}")
    faults = look.faults(browser)
    PICTURES.mkdir(parents=True, exist_ok=True)
    picture = browser.find_element(By.CSS_SELECTOR, "svg.picture")
    # The window is as large as the picture, so that all of it is seen.
    desk.resize(browser, max(390, int(picture.rect["width"]) + 1), int(picture.rect["height"]) + 600)
    browser.execute_script("document.querySelector('svg.picture').scrollIntoView()")
    for theme in ("noon", "cellar"):
        desk.dark(browser, theme == "cellar")
        picture.screenshot(str(PICTURES / f"{name}-{theme}.png"))
    desk.dark(browser, False)
    assert faults == []
