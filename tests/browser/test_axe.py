"""What an accessibility engine from outside finds on the page: nothing, on any screen, in either theme.

Source: axe-core (axe.py says which version, which rules). What it could not decide by itself is not counted.
"""

import pytest

import axe
import desk
import walk
from test_look import SCREENS, show

THEMES = ["noon", "cellar"]


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("address", SCREENS)
def test_rows_of_every_kind(page, address, theme):
    desk.dark(page, theme == "cellar")
    show(page, address)
    assert axe.faults(page) == []


@pytest.mark.parametrize("theme", THEMES)
def test_the_banner_and_the_dialog(page, theme):
    desk.dark(page, theme == "cellar")
    page.execute_script("document.querySelector('#banner').hidden = false")
    page.execute_script("document.querySelector('#banner .words').textContent = 'B6 was not noted.'")
    assert axe.faults(page) == []
    page.execute_script("document.querySelector('#banner').hidden = true")
    for kind in ("text", "number", "file"):
        page.execute_script(
            "const b = [...document.querySelectorAll('[data-asks]')].find((b) => b.dataset.kind === arguments[0]);"
            "b.click()",
            kind,
        )
        assert axe.faults(page) == [], kind
        page.execute_script("document.querySelector('#ask').close()")


def test_the_engine_sees_what_is_wrong(page):
    """An engine that never finds anything would prove nothing."""
    page.execute_script(
        "const rows = document.querySelector('.rows');"
        "rows.insertAdjacentHTML('beforeend', '<button id=nameless></button>');"
        "document.querySelector('.txt .m').style.color = '#6b6b6b'"
    )
    faults = axe.faults(page)
    assert any("nameless" in fault for fault in faults), faults
    assert any(fault.startswith("color-contrast-enhanced") for fault in faults), faults


@pytest.mark.parametrize("moment", walk.MOMENTS)
def test_every_screen_of_the_job(browser, tmp_path, moment):
    program = walk.serve(tmp_path / moment, moment)
    faults = []
    try:
        walk.begin(browser, program)
        for name in walk.walk(browser, moment):
            for theme in THEMES:
                desk.dark(browser, theme == "cellar")
                faults += [f"{name}, {theme}: {fault}" for fault in axe.faults(browser)]
        desk.dark(browser, False)
    finally:
        program.stop()
    assert not faults, "\n".join(faults)
