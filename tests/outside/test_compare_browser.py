"""The page of what changed in a real browser: before and now at the same spot by pointer and by keyboard
alone, filtered, listed, on paper; names that would be markup."""

from __future__ import annotations

import base64
import json
import re
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from browser import (
    actions,
    address,
    all_of,
    axe_findings,
    axe_script,
    chromium,
    one_of,
    pick,
    picture_of,
    press,
    set_media,
    status,
    status_words,
    to_cells,
)
from cli_calls import call
from pier import SCENE, STUDY, pier

MARKUP = "<img src=x onerror=window.hit=1>"
OLD, NEW = f"old {MARKUP}.study.toml", "new & later.study.toml"
# turned by 90 degrees nothing of the crate is in the picture, before as after
TURNED = STUDY.replace("[20, 24] }", "[20, 24] }\nrows = { yaw_deg = [0, 90] }").replace("barge-2", MARKUP)
WORDS = ("--renderer", "rays", "--quiet", "--workers", "1", "--page", "changes.html")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("changes")
    pier(made)
    for name, x in (("old", 0.0), ("new", 0.62)):
        (made / f"{name}.toml").write_text(SCENE.format(x=x).replace("barge-2", MARKUP), "utf-8")
    (made / OLD).write_text(TURNED.replace("pier.toml", "old.toml"), "utf-8")
    later = TURNED.replace("pier.toml", "new.toml").replace("[20, 24]", "[24, 28]")
    (made / NEW).write_text(later, "utf-8")
    assert call("compare", OLD, NEW, *WORDS, cwd=made).code == 1
    return made


@pytest.fixture(scope="module")
def driven(folder: Path) -> Iterator[Any]:
    with chromium(folder) as browser:
        yield browser


@pytest.fixture
def page(driven: Any, folder: Path) -> Iterator[Any]:
    """The page as on the first visit; afterwards: nothing was refused or broken."""
    driven.get((folder / "changes.html").as_uri())
    set_media(driven, prefers_color_scheme="light")
    yield driven
    assert [line["message"] for line in driven.get_log("browser")] == []
    assert driven.execute_script("return window.hit") is None


@pytest.fixture(scope="module")
def cell(folder: Path) -> dict[str, Any]:
    """The changed cell as data: 24 mm, towards the crate."""
    text = re.search(r'id="data">(.*?)</script>', (folder / "changes.html").read_text("utf-8"), re.DOTALL)
    assert text is not None
    found: dict[str, Any] = json.loads(text[1])["cells"][0]
    return found


def listed(page: Any) -> list[tuple[str, str]]:
    labels, signs = all_of(page, "#cells .label"), all_of(page, "#cells .change")
    return [(label.text, sign.text) for label, sign in zip(labels, signs, strict=True)]


CHANGED = [("A1", "changed")]
GONE = [("A1 (before)", "gone"), ("B1 (before)", "gone")]
ADDED = [("A2", "new"), ("B2", "new")]
SAME = [("B1", "unchanged")]


def test_changed_cells_stand_first_and_the_rest_is_filtered_by_kind(page: Any) -> None:
    assert listed(page) == [*CHANGED, *GONE, *ADDED, *SAME]
    one_of(page, "[aria-controls=filter]").click()
    for kind, those in (("changed", CHANGED), ("unchanged", SAME), ("gone", GONE), ("new", ADDED)):
        pick(page, "#by-change", kind)
        assert listed(page) == those
    one_of(page, "#unfilter").click()
    assert len(listed(page)) == 6


def test_a_changed_cell_says_what_changed_by_how_much_and_what_hides_it(page: Any) -> None:
    # 0.92 and 0.61 by hand in tests/pier.py
    line = f"crate seen 92\u00a0%, now 61\u00a0%, hidden by {MARKUP} (\N{MINUS SIGN}31 points)"
    assert one_of(page, "#cells .told").text.replace(" %", "\u00a0%") == line
    assert MARKUP in one_of(page, "h1").text
    assert all_of(page, "img") == []


def test_the_list_flips_to_what_was_before_by_button_and_by_key(page: Any, cell: dict[str, Any]) -> None:
    before, now = picture_of(page, cell["before"], "clay"), picture_of(page, cell, "clay")
    assert before != now
    first = "#cells .cell"
    at = one_of(page, f"{first} image").rect
    one_of(page, "#before").click()
    assert (address(page, first), one_of(page, f"{first} image").rect) == (before, at)
    assert status(page) == "Pictures as they were before."
    to_cells(page)
    press(page, "f")  # a tap stays
    assert address(page, first) == now
    actions(page).key_down("f").pause(0.6).perform()
    assert address(page, first) == before
    actions(page).key_up("f").perform()  # held, and let go
    assert address(page, first) == now
    actions(page).click_and_hold(one_of(page, "#before")).pause(0.6).perform()
    assert address(page, first) == before
    actions(page).release().perform()
    assert address(page, first) == now


def test_a_large_cell_flips_with_what_it_was_by_keyboard_alone(page: Any, cell: dict[str, Any]) -> None:
    to_cells(page)
    press(page, "ENTER")
    at = one_of(page, ".large-picture image").rect
    assert address(page, ".large-picture") == picture_of(page, cell, "clay")
    press(page, "f")
    assert one_of(page, "#large-title").text.startswith("A2 (before)")  # as it was labelled then
    assert address(page, ".large-picture") == picture_of(page, cell["before"], "clay")
    assert one_of(page, ".large-picture image").rect == at
    assert status_words(page).startswith("A2 (before)")
    assert one_of(page, "label[for=note]").text == "Note on A1"  # by its key, which is one
    press(page, "f", "7")
    assert address(page, ".large-picture") == picture_of(page, cell, "difference")
    shown = all_of(page, ".large-picture g.mark")
    assert shown
    assert not any(one.is_displayed() for one in shown)
    press(page, "ESCAPE")
    assert not one_of(page, "#large").is_displayed()


def test_what_is_gone_takes_no_note_and_is_no_choice(page: Any) -> None:
    all_of(page, "#cells .open")[1].click()
    assert one_of(page, "#large-title").text.startswith("A1 (before)")
    assert not one_of(page, "#note").is_enabled()
    assert not [one for one in all_of(page, ".note button") if one.is_enabled()]


def test_changes_are_listed_by_reading_and_lead_to_their_cell(page: Any) -> None:
    one_of(page, "[data-view=changes]").click()
    captions = [one.text for one in all_of(page, "#view-changes caption")]
    assert captions == ["crate seen", "gone", "new"]
    row = [
        one.text.replace("\u00a0", " ") for one in all_of(page, "#view-changes tbody tr:first-child > *")[:6]
    ]
    assert row[0].startswith("24 mm in perspective")
    # the barge hides what is not seen of the crate: 1 - 0.61, by hand
    assert row[1:5] == ["92 %", "61 %", "\N{MINUS SIGN}31 points", f"hidden by {MARKUP}, 39 %"]
    button = one_of(page, "#view-changes button")
    assert button.accessible_name == "A1. Show large"
    page.execute_script("arguments[0].focus()", button)
    press(page, "ENTER")
    assert one_of(page, "#large-title").text.startswith("A1")
    press(page, "ESCAPE")
    assert page.switch_to.active_element == button


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_serious(page: Any, scheme: str) -> None:
    script = axe_script()
    set_media(page, prefers_color_scheme=scheme)
    found = []
    for view in ("cells", "changes", "chart", "plan", "notes"):
        one_of(page, f"[data-view={view}]").click()
        found += axe_findings(page, script)
    one_of(page, "[data-view=cells]").click()
    one_of(page, "[aria-controls=filter]").click()
    one_of(page, "#before").click()
    found += axe_findings(page, script)
    page.execute_script("document.querySelector('.open').click()")
    press(page, "f")
    found += axe_findings(page, script)
    assert found == []


def test_nothing_moves_for_who_wants_no_motion(page: Any) -> None:
    set_media(page, prefers_reduced_motion="reduce")
    to_cells(page)
    press(page, "f", "ENTER", "f")
    assert page.execute_script("return document.getAnimations().length") == 0


def test_the_page_stands_alone_and_opens_at_once(page: Any) -> None:
    asked = page.execute_script("return performance.getEntriesByType('resource').map((one) => one.name)")
    assert [name for name in asked if not name.startswith("data:")] == []
    ready = page.execute_script("return performance.getEntriesByType('navigation')[0].domInteractive")
    assert 0 < ready < 5000  # ms; a tenth of it where nothing else runs


def test_print_gives_what_is_listed_before_now_and_where_they_differ(page: Any, tmp_path: Path) -> None:
    if shutil.which("pdftotext") is None:
        pytest.skip("pdftotext is not installed (Debian's package poppler-utils)")
    printed = page.execute_cdp_cmd("Page.printToPDF", {"printBackground": True, "preferCSSPageSize": True})
    (tmp_path / "print.pdf").write_bytes(base64.b64decode(printed["data"]))
    words = subprocess.run(
        ["pdftotext", "-layout", tmp_path / "print.pdf", "-"], capture_output=True, text=True, check=True
    ).stdout
    assert "What changed between" in words
    assert "24 mm: changed" in words
    assert words.count("where they differ\n") == 1
    assert words.count(": gone") == words.count(": new") == 2
    assert "unchanged" not in words
    assert "Filter" not in words
