"""Walks through the screens of the demo job by pressing alone. The ways stand in ways.txt."""

import pathlib
import subprocess

from selenium.webdriver.support.ui import WebDriverWait

import desk

WAYS = pathlib.Path(__file__).parent / "ways.txt"
MOMENTS = ["morning", "disagreement", "evening"]

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

SETTLED = """
const screen = document.querySelector("#screen");
const busy = document.documentElement.className.includes("busy");
return !busy && screen.dataset.address !== arguments[0];
"""


def ways(moment):
    """The ways of a moment: name and presses, in the order of the file."""
    found = []
    for line in WAYS.read_text().splitlines():
        if line.strip() and not line.startswith("#"):
            of, name, *presses = [part.strip() for part in line.split("|")]
            assert of in MOMENTS, f"ways.txt names the moment {of!r}; there are {MOMENTS}"
            if of == moment:
                found.append((name, presses))
    return found


def serve(folder, moment):
    """Plays the demo job up to a moment and serves it."""
    subprocess.run([desk.BOXPROOF, "demo", folder, "--until", moment], check=True, capture_output=True)
    return desk.Program(desk.BOXPROOF, "page", folder)


def at(driver):
    """Where the page is."""
    return driver.execute_script("return document.querySelector('#screen').dataset.address")


def press(driver, what):
    """Presses one thing and waits for the screen that follows. Found and pressed in one go: the page swaps screens."""
    before = at(driver)
    missing = driver.execute_script(PRESS, what)
    assert missing is None, f"nothing to press for {what!r}; there is {missing}"
    WebDriverWait(driver, 20, poll_frequency=0.05).until(lambda d: d.execute_script(SETTLED, before))


def begin(driver, program):
    """Opens the job's first page. The page may first go back by itself to where this browser last was in it."""
    driver.get(program.address)
    idle = "return !document.documentElement.className.includes('busy')"
    WebDriverWait(driver, 20, poll_frequency=0.05).until(lambda d: d.execute_script(idle))
    if at(driver).startswith("sites"):
        press(driver, "Lantern Lane")


def walk(driver, moment):
    """Goes to one screen after the other and gives its name there."""
    for name, presses in ways(moment):
        desk.resize(driver, 390, 844)
        while not at(driver).startswith("job "):
            press(driver, "exactly:Back")
        for what in presses:
            press(driver, what)
        yield name
