"""A browser on the desk page: starts a program that prints its address, and opens it in Debian's Chromium."""

import json
import os
import pathlib
import signal
import subprocess
import tempfile

from selenium import webdriver
from selenium.webdriver.chrome.options import Options
from selenium.webdriver.chrome.service import Service

BOXPROOF = pathlib.Path(os.environ.get("BOXPROOF", "target/debug/boxproof"))
GALLERY = BOXPROOF.parent / "examples" / "gallery"


class Program:
    """A running program that serves the page."""

    def __init__(self, *words):
        self.process = subprocess.Popen([str(word) for word in words], stdout=subprocess.PIPE, text=True)
        self.address = self.process.stdout.readline().strip()
        assert self.address.startswith("http://127.0.0.1:"), self.address
        self.host = self.address.split("/")[2]

    def stop(self):
        """Asks it to end, as a person does in a terminal, and says how it ended."""
        self.process.send_signal(signal.SIGINT)
        return self.process.wait(timeout=10)


def open_browser(width=390, height=844, scale=1):
    """A fresh browser of this size, with a log of what it asked for and of what it complained about."""
    options = Options()
    options.binary_location = "/usr/bin/chromium"
    profile = tempfile.TemporaryDirectory(prefix="boxproof-browser-")
    for flag in [
        "--headless=new",
        "--no-sandbox",
        "--disable-gpu",
        "--no-first-run",
        "--disable-background-networking",
        "--disable-component-update",
        "--disable-sync",
        "--hide-scrollbars",
        f"--user-data-dir={profile.name}",
        f"--force-device-scale-factor={scale}",
    ]:
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    driver = webdriver.Chrome(options=options, service=Service("/usr/bin/chromedriver"))
    driver.boxproof_profile = profile
    resize(driver, width, height)
    return driver


def resize(driver, width, height, scale=1):
    """The size of the page itself, whatever the window's frame takes."""
    driver.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride",
        {"width": width, "height": height, "deviceScaleFactor": scale, "mobile": False},
    )


def dark(driver, on):
    """What the system says about light and dark."""
    value = "dark" if on else "light"
    driver.execute_cdp_cmd(
        "Emulation.setEmulatedMedia", {"features": [{"name": "prefers-color-scheme", "value": value}]}
    )


def uncached(driver, on):
    """Whether everything is fetched anew, as by a browser that comes for the first time."""
    driver.execute_cdp_cmd("Network.enable", {})
    driver.execute_cdp_cmd("Network.setCacheDisabled", {"cacheDisabled": on})


def complaints(driver):
    """What the browser's console has said."""
    return [line["message"] for line in driver.get_log("browser") if line["level"] in ("WARNING", "SEVERE")]


def asked_for(driver):
    """Every address that was asked for, and the bytes that came."""
    addresses, size = [], 0
    for line in driver.get_log("performance"):
        message = json.loads(line["message"])["message"]
        if message["method"] == "Network.requestWillBeSent":
            addresses.append(message["params"]["request"]["url"])
        if message["method"] == "Network.loadingFinished":
            size += message["params"]["encodedDataLength"]
    return addresses, size
