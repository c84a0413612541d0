"""Number keys that fit a glove: on the page, under the field that is typed in; a keyboard with real keys types as ever.

64 dp is the project's own floor for what a glove presses; WCAG 2.2, 2.5.5 (AAA), asks for 44.
"""

import time

from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

import desk
from test_page import count, one, press, settled, until


def strike(page, keys):
    """Presses keys on the page, one after another, as fast as a test can."""
    for key in keys:
        one(page, f"[data-key='{key}']").click()


def test_the_keys_come_with_the_field_and_are_large(page):
    assert page.find_elements(By.CSS_SELECTOR, "#screen .keys") == []
    for width in (360, 390, 1280):
        desk.resize(page, width, 844)
        one(page, "#in-volts").click()
        keys = page.find_elements(By.CSS_SELECTOR, "#screen .keys [data-key]")
        assert {key.get_attribute("data-key") for key in keys} == set("0123456789.") | {"Backspace"}
        assert all(min(key.rect["width"], key.rect["height"]) >= 64 for key in keys)
        assert all(key.accessible_name for key in keys)
        assert {key.accessible_name for key in keys} >= {"point", "delete", "7"}
    # Nothing but a number needs them.
    one(page, "#in-place").click()
    assert one(page, "#in-place").get_attribute("inputmode") == "text"


def test_a_number_is_struck_and_entered_with_its_unit_beside(page):
    field = one(page, "#in-volts")
    field.click()
    assert field.get_attribute("inputmode") == "none", "the device's own keyboard is not called up"
    strike(page, "1120.6")
    one(page, "[data-key='Backspace']").click()
    strike(page, "5")
    assert field.get_attribute("value") == "1120.5"
    until(page, lambda p: one(p, "#live").get_attribute("textContent") == "1120.5")
    unit = one(page, "#row-volts .unit")
    assert unit.text == "V" and unit.rect["y"] < one(page, "#row-volts .keys").rect["y"]
    one(page, "#row-volts [type=submit]").click()
    until(page, lambda p: count(p)[1] == "volts is 1120.5")


def test_keys_and_real_keys_write_into_the_same_place(page):
    field = one(page, "#in-volts")
    field.send_keys("12")
    strike(page, "0")
    # The key on the page has the focus now; what is typed still goes into the field.
    ActionChains(page).send_keys(".4").send_keys(Keys.BACKSPACE).send_keys("6").perform()
    assert field.get_attribute("value") == "120.6"
    page.execute_script("arguments[0].setSelectionRange(0, 2)", field)
    strike(page, "9")
    assert field.get_attribute("value") == "90.6"
    # By keyboard alone: a key on the page is a button like any other.
    ActionChains(page).send_keys(Keys.ENTER).perform()
    assert field.get_attribute("value") == "990.6"


def test_what_asks_for_a_number_brings_the_keys(page):
    press(page, "number")
    strike(page, "0.3")
    assert one(page, "#ask-text").get_attribute("value") == "0.3"
    one(page, "#ask .enter").click()
    until(page, lambda p: count(p)[1] == "typed 0.3")
    settled(page)
    press(page, "Remark")
    assert not one(page, "#ask").find_elements(By.CSS_SELECTOR, ".keys")
    assert one(page, "#ask-text").get_attribute("inputmode") == "text"
    assert not one(page, "#ask-unit").is_displayed()


def test_the_keyboard_of_the_device_can_be_asked_for_and_is_kept(page, gallery):
    one(page, "summary").click()
    press(page, "of the device", ".settings")
    for _ in range(2):
        field = one(page, "#in-volts")
        field.click()
        assert field.get_attribute("inputmode") == "decimal"
        assert page.find_elements(By.CSS_SELECTOR, "#screen .keys") == []
        page.get(gallery.address)
    one(page, "summary").click()
    press(page, "on this page", ".settings")
    one(page, "#in-volts").click()
    assert one(page, "#screen .keys").is_displayed()


def test_places_of_a_picture_stand_as_a_list_when_asked_for(page, gallery):
    toggle = one(page, "#row-picture [data-list]")
    listed = page.find_elements(By.CSS_SELECTOR, "#row-picture .places button")
    assert len(listed) == 7 and not any(button.is_displayed() for button in listed)
    assert toggle.get_attribute("aria-expanded") == "false"
    toggle.send_keys(Keys.ENTER)
    assert all(button.is_displayed() and button.rect["height"] >= 56 for button in listed)
    assert toggle.get_attribute("aria-expanded") == "true"
    # The same words and tokens as the places in the picture.
    places = page.find_elements(By.CSS_SELECTOR, "#row-picture a.place")
    assert [place.get_attribute("aria-label") for place in places] == [button.text for button in listed]
    time.sleep(0.45)
    page.execute_script("arguments[0].scrollIntoView({block: 'center'})", listed[2])
    listed[2].click()
    until(page, lambda p: count(p)[1] == "touch 2")
    page.get(gallery.address)
    assert one(page, "#row-picture .places button").is_displayed(), "the choice is kept"
