"""A thumb in a browser: plays a day written as touches; tests/thumb/first-visit.txt says how its lines are read.

Run by itself it plays days, one after the other, on an empty notebook and prints the screen where they end or are
stuck; a name that ends in .png keeps a picture of it:
`python3 tests/browser/thumb.py tests/thumb/first-visit.txt tests/thumb/first-visit-rest.txt out.png`.
"""

import pathlib
import sys
import tempfile

from selenium.webdriver.support.ui import WebDriverWait

import desk

FIND = """
const [verb, rest] = arguments;
const [label, words] = rest.split(" | ");
const screen = document.querySelector("#screen");
const first = button => (button.querySelector("span")?.innerText ?? button.innerText).replaceAll("\\u00ad", "").trim();
const picks = root => [...root.querySelectorAll("button.pick[data-t],button.deed[data-t]")];
const named = what => [...screen.querySelectorAll(".seg")]
  .filter(row => (row.querySelector(".l")?.innerText ?? "").trim() === what);
const rows = [...screen.querySelectorAll("button.press[data-t]")].filter(row => row.id !== "row-next");
const places = [...screen.querySelectorAll("a.place")];
let found;
if (verb === "press") found = picks(screen).find(button => first(button) === rest && !button.dataset.asks);
if (verb === "type") found = picks(screen).find(button => first(button) === label && button.dataset.asks);
if (verb === "choose") found = named(label).flatMap(picks).find(button => first(button) === words);
if (verb === "fill") found = named(label).map(row => row.querySelector("form")).find(form => form);
if (verb === "enter") found = rows.find(row => (row.getAttribute("aria-label") ?? "").includes(rest));
if (verb === "touch") found = places.find(place => (place.getAttribute("aria-label") ?? "").includes(rest));
if (!found) {
  const said = thing => (thing.getAttribute("aria-label") ?? thing.innerText ?? "").replaceAll("\\n", " / ");
  const fields = [...screen.querySelectorAll(".seg .l")].map(label => `(${label.innerText})`);
  return [...fields, ...[...screen.querySelectorAll("[data-t]")].map(said)].join("\\n");
}
if (verb === "fill") {
  found.querySelector("input").value = words;
  found.requestSubmit();
} else if (verb === "touch") {
  found.dispatchEvent(new MouseEvent("click", {bubbles: true, cancelable: true}));
} else found.click();
return null;
"""

TYPE = """
document.querySelector("#ask-text").value = arguments[0];
document.querySelector("#ask form").requestSubmit();
"""

SETTLED = """
const screen = document.querySelector("#screen");
if (document.documentElement.classList.contains("busy")) return false;
return screen !== window.boxproofBefore || !document.querySelector("#banner").hidden;
"""


class Stuck(AssertionError):
    """What a line asks to touch is not on the screen, or was refused."""


def at(driver):
    """Where the page is."""
    return driver.execute_script("return document.querySelector('#screen').dataset.address")


def text(driver):
    """What a person reads on the screen."""
    return driver.execute_script("return document.querySelector('#screen').innerText")


def act(driver, verb, rest):
    """One touch, or one text typed, and the screen that follows."""
    driver.execute_script("window.boxproofBefore = document.querySelector('#screen')")
    missing = driver.execute_script(FIND, verb, rest)
    if missing is not None:
        raise Stuck(f"nothing to {verb} for {rest!r}; there is\n{missing}")
    if verb == "type":
        driver.execute_script(TYPE, rest.split(" | ")[1])
    WebDriverWait(driver, 20, poll_frequency=0.02).until(lambda d: d.execute_script(SETTLED))
    refused = driver.execute_script("const b = document.querySelector('#banner'); return b.hidden ? '' : b.innerText")
    if refused:
        raise Stuck(f"{verb} {rest}: {refused}")


def front(driver):
    """Back until the front page is there."""
    while not at(driver).startswith("job "):
        driver.execute_script("window.boxproofBefore = document.querySelector('#screen')")
        driver.execute_script("document.querySelector('[data-back]').click()")
        WebDriverWait(driver, 20, poll_frequency=0.02).until(lambda d: d.execute_script(SETTLED))


def lines(script):
    """The lines of a day with their numbers, up to a line `end`."""
    for n, line in enumerate(script.splitlines(), 1):
        line = line.strip()
        if line == "end":
            return
        if line and not line.startswith("#"):
            yield n, *(line.split(" ", 1) + [""])[:2]


def play(driver, script, seen=lambda driver, n: None):
    """Plays a day; `seen` is told after each act."""
    for n, verb, rest in lines(script):
        if verb in ("day", "at"):
            continue
        try:
            if verb == "shows":
                assert rest in text(driver), f"{rest!r} is not in {text(driver)}"
            elif verb == "front":
                front(driver)
            elif verb == "volts":
                for volts in rest.split():
                    act(driver, "press", f"{volts} V")
            else:
                act(driver, verb, rest)
        except AssertionError as stuck:
            raise Stuck(f"line {n}: {stuck}") from None
        seen(driver, n)


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        program = desk.Program(desk.BOXPROOF, "page", pathlib.Path(folder) / "book")
        driver = desk.open_browser()
        try:
            driver.get(program.address)
            for name in sys.argv[1:]:
                if not name.endswith(".png"):
                    play(driver, pathlib.Path(name).read_text())
            print(text(driver))
        except Stuck as stuck:
            print(stuck, "\n", text(driver))
        finally:
            for name in sys.argv[1:]:
                if name.endswith(".png"):
                    driver.save_screenshot(name)
            driver.quit()
            program.stop()
