"""The page for review in a real browser: by pointer, by keyboard alone, in light and dark, on paper; names
that would be markup, names from right to left, and many cells."""

from __future__ import annotations

import base64
import json
import re
import shutil
import subprocess
import time
import tomllib
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
    named_keys,
    one_of,
    pick,
    picture_of,
    press,
    set_media,
    status,
    status_words,
    to_cells,
)
from cli_calls import done, yard

MARKUP = "<img src=x onerror=window.hit=1>"
RTL = "ארגז גדול"
TITLE = "</script><script>window.hit=1</script> Does it show?"
SCENE = f"""
[ground]
size = [40, 40]

[[solid]]
name = "{MARKUP}"
shape = "box"
size = [1, 1, 1]
at = [2, 0, -2]

[[solid]]
name = "{RTL}"
shape = "box"
size = [6, 2, 0.3]
at = [0, 0, -4]
"""
STUDY = f"""
title = "{TITLE}"
scene = "yard.toml"

[subject]
name = "hopper"
at = [0, 0, 0]

[[target]]
name = "{MARKUP}"
node = "{MARKUP}"

[[target]]
name = "{RTL}"
node = "{RTL}"
role = "secondary"

[[gap]]
name = "hop"
from = [0, 0, 0]
to = [-2, 0, -2]
reach_m = 3

[camera]
focal_mm = 35
distance_m = 8
anchor_height_m = 0.9
pitch_deg = 10
aspect = "16:9"

[sweep]
columns = {{ focal_mm = [24, 35, 50] }}
rows = {{ pitch_deg = [4, 20] }}

[[place]]
name = "shut & away"
move = {{ "{MARKUP}" = [0, 0, -4] }}

[[limit]]
reading = "targets.*.seen"
min = 0.5
role = "primary"
why = "<b>it</b> must show"

[[limit]]
reading = "axes.x.px_per_m"
max = 300
"""
FAST = ("--renderer", "rays", "--quiet", "--cell-width", "320", "--workers", "1")
DATA = re.compile(r'id="data">(.*?)</script>', re.DOTALL)
MODES = ["clay", "grey", "silhouette", "glance", "three-values", "depth"]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("review")
    yard(made, STUDY, SCENE)
    done("page", "yard.study.toml", "-o", "review.html", *FAST, cwd=made)
    return made


def data_of(folder: Path) -> dict[str, Any]:
    """What the page shows, as data."""
    text = DATA.search((folder / "review.html").read_text("utf-8"))
    assert text is not None
    found: dict[str, Any] = json.loads(text[1])
    return found


def with_data(folder: Path, data: dict[str, Any], to: Path) -> str:
    """The address of the same page with other data."""
    html = (folder / "review.html").read_text("utf-8")
    held = json.dumps(data)
    for mark in "<>&":
        held = held.replace(mark, f"\\u{ord(mark):04x}")
    (to / "other.html").write_text(DATA.sub(lambda found: found[0].replace(found[1], held), html), "utf-8")
    return (to / "other.html").as_uri()


@pytest.fixture(scope="module")
def driven(folder: Path) -> Iterator[Any]:
    with chromium(folder) as browser:
        yield browser


@pytest.fixture
def page(driven: Any, folder: Path) -> Iterator[Any]:
    """The page as on the first visit; afterwards: nothing was refused or broken."""
    driven.get((folder / "review.html").as_uri())
    driven.execute_script("localStorage.clear()")
    driven.get((folder / "review.html").as_uri())
    set_media(driven, prefers_color_scheme="light")
    yield driven
    assert [line["message"] for line in driven.get_log("browser")] == []
    assert driven.execute_script("return window.hit") is None


@pytest.fixture(scope="module")
def cells(folder: Path) -> list[dict[str, Any]]:
    """The page's cells as data, with their values by the path's names."""
    data = data_of(folder)
    paths = [tuple(one["path"]) for one in data["paths"]]
    return [
        cell | {"number": number, "by_path": dict(zip(paths, cell["values"], strict=True))}
        for number, cell in enumerate(data["cells"])
    ]


def listed(page: Any) -> list[str]:
    return [one.text for one in all_of(page, "#cells .label")]


def focused(page: Any) -> str:
    """The label that a screen reader says of what has the focus."""
    found: str = page.execute_script("return document.activeElement.getAttribute('aria-label') ?? ''")
    return found


# ---- names, network, sizes ----------------------------------------------------------------------


def test_names_are_text_and_nothing_of_them_runs(page: Any) -> None:
    assert one_of(page, "h1").text == TITLE
    assert page.title == TITLE
    assert "window.hit" in one_of(page, "#told").text  # the target's name, as words
    assert all_of(page, "img, b b, #told i") == []
    one_of(page, ".open").click()
    facts = one_of(page, "#large").text
    assert MARKUP in facts
    assert "<b>it</b> must show" in facts
    assert RTL in facts


def test_words_from_right_to_left_keep_their_direction(page: Any) -> None:
    one_of(page, ".open").click()
    found = [one for one in all_of(page, "#large [dir=auto]") if one.text.startswith(RTL)]
    assert found
    assert {one.value_of_css_property("direction") for one in found} == {"rtl"}


def test_the_page_stands_alone_and_opens_at_once(page: Any) -> None:
    asked = page.execute_script("return performance.getEntriesByType('resource').map((one) => one.name)")
    assert [name for name in asked if not name.startswith("data:")] == []
    ready = page.execute_script("return performance.getEntriesByType('navigation')[0].domInteractive")
    assert 0 < ready < 5000  # ms; a tenth of it where nothing else runs


def test_pictures_are_shown(page: Any, cells: list[dict[str, Any]]) -> None:
    assert len(all_of(page, "#cells svg image")) == 6
    assert address(page, "#cells .cell") == picture_of(page, cells[0], "clay")
    size = page.execute_async_script(
        "const image = new Image(); image.onload = () => arguments[1]([image.width, image.height]);"
        "image.src = arguments[0]",
        address(page, "#cells .cell"),
    )
    assert size == [320, 180]


def test_pictures_of_a_line_stand_level_however_long_what_is_said(page: Any) -> None:
    pick(page, "#across", "3")
    page.execute_script("document.querySelector('.says span:last-child').textContent = 'word '.repeat(200)")
    tops = [one.rect["y"] for one in all_of(page, "#cells .picture")]
    assert len(set(tops[:3])) == len(set(tops[3:])) == 1
    assert tops[0] < tops[3]


# ---- by keyboard alone --------------------------------------------------------------------------


def test_arrows_go_from_cell_to_cell_enter_opens_and_escape_comes_back(page: Any) -> None:
    to_cells(page)
    assert focused(page).startswith("A1, here, ")
    press(page, "ARROW_RIGHT")
    assert focused(page).startswith("A2, here, ")
    assert "A2, here" in one_of(page, "#told h2").text
    press(page, "END")
    assert focused(page).startswith("B3, here, ")
    press(page, "ENTER")
    assert "B3, here" in one_of(page, "#large-title").text
    press(page, "ESCAPE")
    assert not one_of(page, "#large").is_displayed()
    assert focused(page).startswith("B3, here, ")


def test_down_goes_to_the_cell_below(page: Any) -> None:
    to_cells(page)
    across = page.execute_script(
        "const those = [...document.querySelectorAll('#cells li')];"
        "return those.filter((one) => one.offsetTop === those[0].offsetTop).length"
    )
    press(page, "ARROW_DOWN")
    assert focused(page).startswith(f"{['A1', 'A2', 'A3', 'B1', 'B2', 'B3'][across]}, here")


def test_the_focus_is_seen(page: Any) -> None:
    to_cells(page)
    outline = page.execute_script("return getComputedStyle(document.activeElement).outline")
    assert "solid 3px" in outline


def test_a_tap_of_a_number_stays_and_a_hold_comes_back(page: Any, cells: list[dict[str, Any]]) -> None:
    to_cells(page)
    press(page, "3")
    assert address(page, "#cells .cell") == picture_of(page, cells[0], "silhouette")
    assert status(page) == "Picture: Silhouette."
    actions(page).key_down("1").pause(0.6).perform()
    assert address(page, "#cells .cell") == picture_of(page, cells[0], "clay")
    actions(page).key_up("1").perform()
    assert address(page, "#cells .cell") == picture_of(page, cells[0], "silhouette")


def test_every_mode_has_its_picture(page: Any, cells: list[dict[str, Any]]) -> None:
    buttons = all_of(page, "#modes button")
    assert [one.get_attribute("data-mode") for one in buttons] == MODES
    for button, kind in zip(buttons, ["clay", "clay", *MODES[2:]], strict=True):
        button.click()
        assert address(page, "#cells .cell") == picture_of(page, cells[0], kind)
        filtered = one_of(page, "#cells .cell image").get_attribute("filter")
        assert filtered == ("url(#grey)" if button.get_attribute("data-mode") == "grey" else None)
        assert [one.get_attribute("aria-pressed") for one in buttons].count("true") == 1


def test_the_subject_lies_over_the_marks_as_the_picture_shows_it(
    page: Any, folder: Path, tmp_path: Path
) -> None:
    data = data_of(folder)
    image = ["image", {"href": "#0", "x": "0", "y": "0", "width": "40", "height": "40"}, ""]
    data["cells"][0]["marks"].append(["g", {"class": "mark subject"}, [image]])
    page.get(with_data(folder, data, tmp_path))
    one_of(page, ".open").click()
    for mode in MODES:
        one_of(page, f"#large [data-mode={mode}]").click()
        subject = one_of(page, ".large-picture g.mark.subject image")
        assert subject.get_attribute("display") == ("inline" if mode in ("clay", "grey") else "none")
        assert subject.get_attribute("filter") == ("url(#grey)" if mode == "grey" else "none")


def test_large_cells_step_flip_and_hold_by_keyboard(page: Any, cells: list[dict[str, Any]]) -> None:
    to_cells(page)
    press(page, "ENTER")
    press(page, "ARROW_RIGHT")
    assert "A2, here" in one_of(page, "#large-title").text
    at = one_of(page, ".large-picture image").rect
    here = address(page, ".large-picture")
    press(page, "f")
    assert "A1, here" in one_of(page, "#large-title").text
    assert one_of(page, ".large-picture image").rect == at
    assert address(page, ".large-picture") == picture_of(page, cells[0], "clay") != here
    assert status_words(page).startswith("A1, here")
    press(page, "f")
    assert address(page, ".large-picture") == here
    press(page, "ARROW_LEFT", "4")
    assert address(page, ".large-picture") == picture_of(page, cells[0], "glance")


def test_letters_that_are_typed_are_no_keys(page: Any) -> None:
    one_of(page, ".open").click()
    one_of(page, "#note").send_keys("fm1 is fine")
    assert one_of(page, "#note").get_attribute("value") == "fm1 is fine"
    assert one_of(page, ".large-picture g.mark").get_attribute("display") == "inline"


# ---- by pointer ---------------------------------------------------------------------------------


def test_a_button_held_shows_another_picture_until_it_is_let_go(
    page: Any, cells: list[dict[str, Any]]
) -> None:
    one_of(page, ".open").click()
    button = one_of(page, "#large [data-mode=silhouette]")
    actions(page).click_and_hold(button).pause(0.6).perform()
    assert address(page, ".large-picture") == picture_of(page, cells[0], "silhouette")
    actions(page).release(button).perform()
    assert address(page, ".large-picture") == picture_of(page, cells[0], "clay")


def test_flip_takes_any_other_cell(page: Any, cells: list[dict[str, Any]]) -> None:
    one_of(page, ".open").click()
    other = next(cell for cell in cells if (cell["id"], cell["place"]) == ("B3", "shut & away"))
    pick(page, "#flip-with", f"B3, shut & away: {other['words']}")
    one_of(page, ".flip").click()
    assert address(page, ".large-picture") == picture_of(page, other, "clay")
    assert one_of(page, ".flip").get_attribute("aria-pressed") == "true"


def test_marks_go_by_kind_and_all_at_once(page: Any) -> None:
    def shown(kind: str) -> set[str]:
        return {one.get_attribute("display") for one in all_of(page, f"#cells g.mark.{kind}")}

    assert shown("gaps") == shown("targets") == {"inline"}
    one_of(page, "[aria-controls=marks]").click()
    one_of(page, "#marks [data-mark=gaps]").click()
    assert (shown("gaps"), shown("targets")) == ({"none"}, {"inline"})
    assert status(page) == "Gaps: off."
    one_of(page, "[aria-controls=marks]").click()
    to_cells(page)
    press(page, "m")
    assert shown("targets") == {"none"}
    press(page, "m")
    assert (shown("gaps"), shown("targets")) == ({"none"}, {"inline"})


def test_a_large_cell_has_marks_that_are_asked_for(page: Any) -> None:
    one_of(page, ".open").click()
    assert one_of(page, ".large-picture g.mark.size").get_attribute("display") == "none"
    one_of(page, "[aria-controls=large-marks]").click()
    one_of(page, "#large [data-mark=size]").click()
    assert one_of(page, ".large-picture g.mark.size").get_attribute("display") == "inline"


def test_a_large_cell_has_the_value_of_every_cue(page: Any, cells: list[dict[str, Any]]) -> None:
    one_of(page, ".open").click()
    tables = [one for one in all_of(page, "#large table") if one.text.startswith("Depth cues")]
    assert len(tables) == 2  # the gap and the primary target
    rows = tables[0].find_elements("css selector", "tbody tr")
    assert len(rows) == 10
    found = {row.text.split()[0]: row.text for row in rows}
    size = cells[0]["by_path"]["cues", "gap:hop", "relative_size", "value"]
    assert f"{size:.1f} %" in found["S"]


def test_pointing_at_a_target_tells_value_limit_source_and_what_hides_it(page: Any) -> None:
    pick(page, "#place", "shut & away")
    one_of(page, ".open").click()
    spots = [one for one in all_of(page, ".spot") if one.get_attribute("aria-label").startswith(MARKUP)]
    assert len(spots) == 1
    actions(page).move_to_element(spots[0]).perform()
    told = one_of(page, ".spot-told").text
    assert "needs 50 %" in told
    assert "primary targets: seen at least 50 %" in told  # its limit
    assert "definition" in told  # its source
    assert f"hidden by {RTL}" in told.replace("\u200e", "")


def test_the_focus_on_a_target_tells_the_same(page: Any) -> None:
    one_of(page, ".open").click()
    page.execute_script("document.querySelector('.spot').focus()")
    assert "Reading" in one_of(page, ".spot-told").text
    assert MARKUP in one_of(page, ".spot-told").text


def test_pointing_at_a_cell_tells_its_brief(page: Any) -> None:
    actions(page).move_to_element(all_of(page, "#cells .open")[2]).perform()
    told = one_of(page, "#told").text
    assert told.startswith("A3, here")
    assert "Limit: x: scale at most 300 px a metre." in told
    assert "Why: <b>it</b> must show." in told


def test_a_note_is_on_the_cell_that_is_shown(page: Any, cells: list[dict[str, Any]]) -> None:
    one_of(page, ".open").click()
    one_of(page, ".flip").click()  # with the next one, where none was large before
    assert one_of(page, "#large-title").text.startswith("A2, here")
    assert one_of(page, "label[for=note]").text == "Note on A2"
    one_of(page, "#note").send_keys("calm")
    one_of(page, ".flip").click()
    assert one_of(page, "#note").get_attribute("value") == ""
    one_of(page, "#large .close").click()
    one_of(page, "[data-view=notes]").click()
    key = next(cell["key"] for cell in cells if cell["id"] == "A2")
    notes = tomllib.loads(one_of(page, "#notes-text").get_attribute("value"))["note"]
    assert notes == [{"variant": key, "text": "calm"}]


def test_what_the_marks_mean_is_said(page: Any) -> None:
    one_of(page, "#help-open").click()
    said = one_of(page, "#help").text
    for words in ("Verdict and brief", "one does not", "Tints and targets", "Depth cues, hop"):
        assert words in said
    for legend in all_of(page, "#legend svg"):
        assert legend.rect["width"] > 50
        assert legend.rect["height"] > 20
    assert "striped where they are hidden" in said
    one_of(page, "#help-close").click()


def test_steps_of_depth_are_explained_while_they_are_shown(page: Any) -> None:
    assert not one_of(page, "#ladder").is_displayed()
    one_of(page, "#modes [data-mode=depth]").click()
    assert "farther by" in one_of(page, "#ladder").text
    one_of(page, "#modes [data-mode=clay]").click()
    assert not one_of(page, "#ladder").is_displayed()


# ---- order and filter ---------------------------------------------------------------------------


def here(cells: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return [cell for cell in cells if cell["place"] == "here"]


def test_cells_are_ordered_by_margin_and_by_any_reading(page: Any, cells: list[dict[str, Any]]) -> None:
    pick(page, "#order", "margin, best first")
    assert listed(page) == [cell["id"] for cell in sorted(here(cells), key=lambda cell: -cell["margin"])]
    assert status(page) == "6 of 6 cells, by margin, best first."
    pick(page, "#order", "x: scale")
    scale = ("axes", "x", "px_per_m")
    rising = [cell["id"] for cell in sorted(here(cells), key=lambda cell: cell["by_path"][scale])]
    assert listed(page) == rising
    one_of(page, "#turned").click()
    # of equal values the sheet's order stays
    falling = [cell["id"] for cell in sorted(here(cells), key=lambda cell: -cell["by_path"][scale])]
    assert listed(page) == falling


def test_cells_are_filtered_by_verdict_margin_place_and_reading(
    page: Any, cells: list[dict[str, Any]]
) -> None:
    one_of(page, "[aria-controls=filter]").click()
    pick(page, "#by-verdict", "holds")
    assert listed(page) == [cell["id"] for cell in here(cells) if cell["flag"]["kind"] == "holds"]
    pick(page, "#by-verdict", "any")
    field = one_of(page, "#by-margin")
    field.send_keys("-0.5", named_keys().TAB)
    assert listed(page) == [cell["id"] for cell in here(cells) if cell["margin"] >= -0.5]
    one_of(page, "#unfilter").click()
    pick(page, "#by-reading", "x: scale")
    pick(page, "#by-side", "at most")
    one_of(page, "#by-value").send_keys("300", named_keys().TAB)
    kept = [cell["id"] for cell in here(cells) if cell["by_path"]["axes", "x", "px_per_m"] <= 300]
    assert listed(page) == kept
    assert 0 < len(kept) < 6
    one_of(page, "#unfilter").click()
    pick(page, "#place", "every place")
    assert len(listed(page)) == 12


# ---- chart and plan -----------------------------------------------------------------------------


def test_the_points_of_a_chart_are_the_cells(page: Any, cells: list[dict[str, Any]]) -> None:
    one_of(page, "[data-view=chart]").click()
    pick(page, "#chart-reading", "x: scale")
    pick(page, "#chart-field", "lens, mm")
    points = all_of(page, "g.point[data-cell]")
    assert len(points) == 6
    assert len(all_of(page, ".chart .limit")) == 1
    assert "at most 300 px a metre" in one_of(page, ".chart").text
    by_cell = {
        int(one.get_attribute("data-cell")): one.find_element("css selector", "circle") for one in points
    }
    spots = {k: (float(c.get_attribute("cx")), float(c.get_attribute("cy"))) for k, c in by_cell.items()}
    for k, (x, y) in spots.items():
        for other, (x2, y2) in spots.items():
            one, two = cells[k], cells[other]
            if one["steps"]["focal_mm"] < two["steps"]["focal_mm"]:
                assert x < x2
            if one["by_path"]["axes", "x", "px_per_m"] > two["by_path"]["axes", "x", "px_per_m"] + 1:
                assert y < y2
    page.execute_script("document.querySelector('.point[tabindex=\"0\"]').focus()")
    press(page, "ARROW_RIGHT", "ENTER")
    assert one_of(page, "#large").is_displayed()
    assert "A2, here" in one_of(page, "#large-title").text


def test_each_of_several_cameras_at_one_spot_is_picked_by_pointer(page: Any) -> None:
    one_of(page, "[data-view=plan]").click()
    # where a camera is alone, in the middle; where others stand at the same spot, on a ring of its own
    found = page.execute_script(
        "return [...document.querySelectorAll('.plan .camera')].map((camera) => {"
        " const circle = camera.querySelector('circle');"
        " const box = circle.getBoundingClientRect();"
        " const ring = camera.classList.contains('around');"
        " const x = ring ? box.left + 1 : box.left + box.width / 2;"
        " return document.elementFromPoint(x, box.top + box.height / 2)?.closest('.camera') === camera; })"
    )
    assert found == [True] * 6


def test_a_camera_is_picked_on_the_plan(page: Any) -> None:
    one_of(page, "[data-view=plan]").click()
    cameras = all_of(page, ".plan .camera")
    assert len(cameras) == 6
    assert len(all_of(page, "#plan-cameras button")) == 6
    page.execute_script("document.querySelector('.camera[tabindex=\"0\"]').focus()")
    press(page, "END")
    assert one_of(page, "#told h2").text.startswith("B3")
    press(page, "ENTER")
    assert "B3, here" in one_of(page, "#large-title").text
    press(page, "ESCAPE")
    all_of(page, "#plan-cameras button")[0].click()
    assert "A1, here" in one_of(page, "#large-title").text


# ---- notes --------------------------------------------------------------------------------------


def note_and_choose(page: Any) -> None:
    all_of(page, ".open")[1].click()
    one_of(page, "#note").send_keys('too "wide" \\ ', RTL)
    next(one for one in all_of(page, "#large .note button") if one.text == "Choose A2").click()
    one_of(page, "#because").send_keys("it shows")
    one_of(page, "#large .close").click()
    one_of(page, "[data-view=notes]").click()
    one_of(page, "#by").send_keys("AK")


def test_notes_are_kept_saved_and_put_into_the_study(
    page: Any, folder: Path, cells: list[dict[str, Any]], tmp_path: Path
) -> None:
    note_and_choose(page)
    key = next(cell["key"] for cell in cells if cell["id"] == "A2")
    text = one_of(page, "#notes-text").get_attribute("value")
    wanted = {
        "decision": {"chosen": key, "by": "AK", "because": "it shows"},
        "note": [{"variant": key, "by": "AK", "text": f'too "wide" \\ {RTL}'}],
    }
    assert tomllib.loads(text) == wanted
    one_of(page, ".save").click()
    saved = folder / "notes.toml"
    for _ in range(100):
        if saved.is_file() and saved.stat().st_size:
            break
        time.sleep(0.1)
    assert saved.read_text("utf-8") == text
    study = yard(tmp_path, STUDY, SCENE)
    shutil.move(saved, tmp_path / "notes.toml")
    done("choose", "yard.study.toml", "--from", "notes.toml", cwd=tmp_path)
    assert tomllib.loads(study.read_text("utf-8")) == tomllib.loads(STUDY) | wanted
    page.get((folder / "review.html").as_uri())
    assert all_of(page, ".noted")[1].text == "Your choice, Noted"


def test_notes_stay_in_memory_where_the_browser_keeps_nothing(page: Any, folder: Path) -> None:
    added = page.execute_cdp_cmd(
        "Page.addScriptToEvaluateOnNewDocument",
        {
            "source": "Object.defineProperty(window, 'localStorage',"
            " { get() { throw new DOMException('denied', 'SecurityError') } })"
        },
    )
    try:
        page.get((folder / "review.html").as_uri())
        note_and_choose(page)
        assert "too" in one_of(page, "#notes-text").get_attribute("value")
    finally:
        page.execute_cdp_cmd("Page.removeScriptToEvaluateOnNewDocument", added)


# ---- what the reader prefers, and paper ---------------------------------------------------------


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_serious(page: Any, scheme: str) -> None:
    script = axe_script()
    set_media(page, prefers_color_scheme=scheme)
    back = page.execute_script("return getComputedStyle(document.documentElement).backgroundColor")
    assert (sum(map(int, re.findall(r"\d+", back))) < 200) == (scheme == "dark")
    found = []
    for view in ("cells", "chart", "plan", "notes"):
        one_of(page, f"[data-view={view}]").click()
        found += axe_findings(page, script)
    one_of(page, "[data-view=cells]").click()
    for button in all_of(page, ".bar > .opens"):
        if button.is_displayed():
            button.click()
    found += axe_findings(page, script)
    one_of(page, "#help-open").click()
    found += axe_findings(page, script)
    press(page, "ESCAPE")
    page.execute_script("document.querySelector('.open').click()")
    found += axe_findings(page, script)
    assert found == []


def test_nothing_moves_for_who_wants_no_motion(page: Any) -> None:
    set_media(page, prefers_reduced_motion="reduce")
    one_of(page, ".open").click()
    press(page, "ARROW_RIGHT", "f", "3")
    assert page.execute_script("return document.getAnimations().length") == 0


def test_print_gives_the_sheet_of_the_place_that_is_shown(page: Any, tmp_path: Path) -> None:
    if shutil.which("pdftotext") is None:
        pytest.skip("pdftotext is not installed (Debian's package poppler-utils)")
    pick(page, "#place", "shut & away")
    printed = page.execute_cdp_cmd("Page.printToPDF", {"printBackground": True, "preferCSSPageSize": True})
    (tmp_path / "print.pdf").write_bytes(base64.b64decode(printed["data"]))
    words = subprocess.run(
        ["pdftotext", "-layout", tmp_path / "print.pdf", "-"], capture_output=True, text=True, check=True
    ).stdout
    assert words.count("\f") == 1  # pages
    assert "Does it show?" in words
    assert "drawn: shut & away" in words
    assert "A sheet screens cameras" in words  # the foot of a sheet
    assert "Filter" not in words


def test_four_hundred_cells_are_listed_and_only_those_in_sight_are_drawn(
    driven: Any, folder: Path, tmp_path: Path
) -> None:
    data = data_of(folder)
    kept = [cell for cell in data["cells"] if cell["place"] == "here"]
    sheet = data["sheets"][0]
    page = sheet["pages"][0]
    groups = [one for one in page["tree"] if one[1]["class"] == "cell"]
    count = 400
    data["cells"] = [
        kept[k % 6] | {"id": f"{chr(65 + k // 20)}{k % 20 + 1}", "column": k % 20} for k in range(count)
    ]
    page |= {"cells": list(range(count)), "tree": [groups[k % 6] for k in range(count)]}
    data["sheets"] = [sheet]
    driven.get(with_data(folder, data, tmp_path))
    assert len(all_of(driven, "#cells li")) == count
    time.sleep(0.5)
    assert 0 < len(all_of(driven, "#cells image")) < 100
    ready = driven.execute_script("return performance.getEntriesByType('navigation')[0].domInteractive")
    assert ready < 5000
    to_cells(driven)
    press(driven, "END")
    assert focused(driven).startswith("T20")
    assert driven.get_log("browser") == []
