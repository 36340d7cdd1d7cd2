"""Chromium for the tests of pages: driven by chromedriver, or a skip that says what to install."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parents[1]
SEVERE = ("serious", "critical")


@contextmanager
def chromium(folder: Path, size_px: tuple[int, int] = (1280, 900)) -> Iterator[Any]:
    """A browser without a window. folder: for its profile and what it saves."""
    webdriver = pytest.importorskip("selenium.webdriver", reason="selenium is not installed (extra test)")
    browser, driver = shutil.which("chromium"), shutil.which("chromedriver")
    if browser is None or driver is None:
        pytest.skip("chromium or chromedriver is not installed (Debian's packages chromium, chromium-driver)")
    options = webdriver.ChromeOptions()
    options.binary_location = browser
    for word in (
        *("--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage"),
        *(f"--window-size={size_px[0]},{size_px[1]}", f"--user-data-dir={folder / 'profile'}"),
    ):
        options.add_argument(word)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    options.add_experimental_option("prefs", {"download.default_directory": str(folder)})
    driven = webdriver.Chrome(options=options, service=webdriver.ChromeService(driver))
    try:
        yield driven
    finally:
        driven.quit()


def set_media(driven: Any, **features: str) -> None:
    """What the machine's owner prefers: prefers_color_scheme="dark"."""
    those = [{"name": name.replace("_", "-"), "value": value} for name, value in features.items()]
    driven.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": those})


def axe_script() -> str:
    """axe-core, or a skip that says what to install."""
    folder = Path(os.environ.get("STATIONPOINT_NODE_MODULES", ROOT / "node_modules"))
    script = folder / "axe-core" / "axe.min.js"
    if not script.is_file():
        pytest.skip(
            "the npm package axe-core is not installed: npm install axe-core, "
            "or name a node_modules folder in STATIONPOINT_NODE_MODULES"
        )
    return script.read_text("utf-8")


def axe_findings(driven: Any, script: str) -> list[str]:
    """What axe-core finds that is serious or critical, a line each."""
    driven.execute_script(script)
    found = driven.execute_async_script(
        "const done = arguments[0]; axe.run(document).then((result) => done(result.violations));"
    )
    return [
        f"{one['id']}: {node['target']} {node['failureSummary']}"
        for one in found
        if one["impact"] in SEVERE
        for node in one["nodes"]
    ]


def all_of(page: Any, selector: str) -> list[Any]:
    found: list[Any] = page.find_elements("css selector", selector)
    return found


def one_of(page: Any, selector: str) -> Any:
    return page.find_element("css selector", selector)


def press(page: Any, *keys: str) -> None:
    """Keys, one after the other, to what has the focus."""
    chain = actions(page)
    for key in keys:
        chain = chain.send_keys(getattr(named_keys(), key, key))
    chain.perform()


def actions(page: Any) -> Any:
    from selenium.webdriver import ActionChains

    return ActionChains(page)


def named_keys() -> Any:
    from selenium.webdriver.common.keys import Keys

    return Keys


def status(page: Any) -> str:
    found: str = one_of(page, "#status").text
    return found


def to_cells(page: Any) -> None:
    """The tabulator, until the first cell has the focus."""
    page.execute_script("document.body.focus()")
    for _ in range(40):
        press(page, "TAB")
        if page.execute_script("return document.activeElement.matches('.open')"):
            return
    raise AssertionError("no cell is reached by the tabulator")


def pick(page: Any, selector: str, text: str) -> None:
    from selenium.webdriver.support.ui import Select

    Select(one_of(page, selector)).select_by_visible_text(text)


def address(page: Any, selector: str) -> str:
    found: str = one_of(page, f"{selector} image").get_attribute("href")
    return found


def picture_of(page: Any, cell: dict[str, Any], kind: str) -> str:
    pictures = page.execute_script("return JSON.parse(document.getElementById('pictures').textContent)")
    return f"data:image/webp;base64,{pictures[cell['pictures'][kind]]}"


def status_words(page: Any) -> str:
    """What is told, also where a dialog lies over it."""
    found: str = page.execute_script("return document.querySelector('[role=status]:not(:empty)').textContent")
    return found
