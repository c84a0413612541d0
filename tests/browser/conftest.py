"""One browser and one gallery for all tests of the page; each test starts from the first screen."""

import pytest

import desk


@pytest.fixture(scope="session")
def gallery():
    """The program that serves a row of every kind."""
    assert desk.GALLERY.exists(), f"{desk.GALLERY} is missing: cargo build --examples -p boxproof"
    program = desk.Program(desk.GALLERY)
    yield program
    assert program.stop() == 0


@pytest.fixture(scope="session")
def browser():
    """A browser."""
    driver = desk.open_browser()
    yield driver
    driver.quit()


@pytest.fixture
def page(browser, gallery):
    """The first screen on a phone's width, in light, with nothing kept from the test before."""
    desk.resize(browser, 390, 844)
    desk.dark(browser, False)
    browser.get(gallery.address)
    browser.execute_script("localStorage.clear(); sessionStorage.clear()")
    browser.get(gallery.address)
    desk.complaints(browser)
    desk.asked_for(browser)
    yield browser
