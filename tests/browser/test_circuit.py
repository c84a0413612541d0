"""A circuit of sixty boxes, noted through the program: quiet branches are one row each, a touch unfolds one."""

import subprocess

import pytest
from selenium.webdriver.common.by import By
from selenium.webdriver.support.ui import WebDriverWait

import desk
import look
import walk
from test_boxes import PICTURES
from test_look import show

PLACES = [
    "hall, by the door",
    "bedroom window wall",
    "bath over the mirror",
    "closet light",
    "stair foot, two gang",
    "porch",
    "landing ceiling",
    "attic above the landing",
]


def house():
    """Eight circuits of eight boxes behind one panel, with a branch in each; one has something planned."""
    events = [
        'site name="Sixty boxes" address="nowhere"',
        'person name="A. Rowe"',
        'job name="Look" edition=2020',
        'arrive "A. Rowe" job="Look"',
        'box tag=P location="panel in the cellar" kind=panel system=split_phase layer=found',
    ]
    number = 0
    for circuit in range(1, 9):
        leg = "ab"[circuit % 2]
        events.append(f"device P:{circuit} kind=breaker-1p-15 number={circuit} leg={leg} layer=found")
        before = "P"
        for at, place in enumerate(PLACES):
            number += 1
            kind = "" if at == 7 and circuit % 2 else " kind=nonmetallic-1g volume=20.3"
            events.append(f'box tag=B{number} location="{place}, floor {circuit}"{kind} layer=found')
            source = f"B{number - 3}" if at == 5 else before
            feed = f" feed=P:{circuit}" if source == "P" else ""
            cable = "nm-14-3" if at == 2 else "nm-14-2"
            events.append(f'run B{number}/A to={source} kind={cable} length="{9 + at} ft est"{feed} layer=found')
            before = f"B{number}"
    events += [
        "run B20/Y to=? kind=nm-14-2 layer=found",
        'box tag=N1 location="new wall light in the hall" kind=round-4-2.125 layer=planned',
        'run B21/Z to=N1/A kind=nm-14-2 length="12 ft" layer=planned',
    ]
    return events


@pytest.fixture(scope="module")
def sixty(tmp_path_factory):
    """The house, served by the program."""
    folder = tmp_path_factory.mktemp("sixty") / "book"
    noted = subprocess.run([desk.BOXPROOF, "note", folder, *house()], capture_output=True, text=True)
    assert noted.returncode in (0, 1), noted.stderr
    program = desk.Program(desk.BOXPROOF, "page", folder)
    yield program
    assert program.stop() == 0


def rows(browser):
    """What the rows of the picture say."""
    places = browser.find_elements(By.CSS_SELECTOR, "svg.picture a.place")
    return {place.get_attribute("aria-label"): place for place in places}


def keep(browser, name):
    """A picture of the whole picture."""
    PICTURES.mkdir(parents=True, exist_ok=True)
    high = browser.find_element(By.CSS_SELECTOR, "svg.picture").rect["height"]
    desk.resize(browser, 390, int(high) + 500)
    browser.find_element(By.CSS_SELECTOR, "svg.picture").screenshot(str(PICTURES / f"{name}.png"))
    desk.resize(browser, 390, 844)


def test_a_long_circuit_is_folded_and_a_branch_unfolds(browser, sixty):
    desk.resize(browser, 390, 844)
    browser.get(sixty.address)
    show(browser, "circuit")
    folded = rows(browser)
    branches = [words for words in folded if words.startswith("Branch from")]
    assert len(folded) < 20 and len(branches) >= 7, list(folded)
    # What is planned and the end that nobody knows stay in sight.
    assert any(words.startswith("N1,") for words in folded)
    assert any(words.startswith("B20,") and "not known" in words for words in folded)
    assert any("8 boxes, one not known" in words for words in branches)
    assert look.faults(browser) == []
    keep(browser, "circuit-of-sixty")
    first = folded[branches[0]]
    browser.execute_script("arguments[0].scrollIntoView({block: 'center'})", first)
    first.click()
    WebDriverWait(browser, 10).until(lambda b: "unfold=" in walk.at(b))
    unfolded = rows(browser)
    assert len(unfolded) > len(folded) and branches[0] not in unfolded
    assert any(words.startswith("B1,") for words in unfolded)
    assert look.faults(browser) == []
    keep(browser, "circuit-of-sixty-unfolded")
