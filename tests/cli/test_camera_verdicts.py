"""A camera at several places: its worst decides, and is told at its head, in the ticket and by `judge`."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from cli_calls import SMALL, call, done, refused, yard

# Hand geometry: the camera stands 8 m behind the walker's foot, 0.9 m up, level, so its eye is at
# (1.5, 0.9, 8). The crate's near face, x from -0.5 to 0.5, is 13.5 m off. At "ledge" a board of 4 x 4 m lies
# across x from -2 to 2, 12 m off: lines to the crate's sides cross it at 1.5 - 2 x 12 / 13.5 = -0.28 and
# 1.5 - 1 x 12 / 13.5 = 0.61, so it hides the crate wholly. At 20 m and at 8 m to the right it hides nothing.
SCENE = """
[ground]
size = [60, 60]
[[solid]]
name = "crate"
shape = "box"
size = [1, 1, 1]
at = [0, 0, -6]
[[solid]]
name = "screen"
shape = "box"
size = [4, 4, 0.2]
at = [20, 0, -4]
"""
STUDY = """
title = "Is the crate seen wherever the walker stands?"
scene = "yard.toml"
here = false
[subject]
name = "walker"
at = [0, 0, 0]
may_hide = true
[[target]]
name = "crate"
node = "crate"
[[place]]
name = "porch"
at = [1.5, 0, 0]
[[place]]
name = "ledge"
at = [1.5, 0, 0]
move = { screen = [-20, 0, 0] }
[[place]]
name = "gate"
at = [-1.5, 0, 0]
[camera]
focal_mm = 24
distance_m = 8
anchor_height_m = 0.9
pitch_deg = 0
aspect = "16:9"
[[limit]]
reading = "targets.crate.seen"
min = 0.6
"""
ON_ROWS = '[sweep]\nrows = { place = "*" }\ncolumns = { focal_mm = [24, 28] }\n'
ON_COLUMNS = '[sweep]\nrows = { focal_mm = [24, 28] }\ncolumns = { place = "*" }\n'


def drawn(folder: Path, sweep: str, *words: str) -> str:
    """The sheet's words, as an SVG has them."""
    path = yard(folder, STUDY + sweep, SCENE)
    done("sheet", path.name, *SMALL, *words, "-o", "sheet.svg", cwd=folder)
    return (folder / "sheet.svg").read_text("utf-8")


@pytest.mark.parametrize("sweep", [ON_ROWS, ON_COLUMNS])
def test_every_place_is_swept_in_the_studys_order(tmp_path: Path, sweep: str) -> None:
    path = yard(tmp_path, STUDY + sweep, SCENE)
    rows = done("measure", path.name, "--renderer", "rays", "--json", "-", cwd=tmp_path).record["rows"]
    assert list(dict.fromkeys(row["place"] for row in rows)) == ["porch", "ledge", "gate"]
    assert len(rows) == 6


def test_a_whole_column_or_row_is_flagged_with_where_it_is_worst(tmp_path: Path) -> None:
    said = drawn(tmp_path / "rows", ON_ROWS)
    assert said.count(">at 1 of 3 places, worst: ledge<") == 2
    said = drawn(tmp_path / "columns", ON_COLUMNS)
    assert said.count(">at 1 of 3<") == 2
    assert said.count(">worst:<") == 2
    told = (tmp_path / "columns" / "sheet.txt").read_text("utf-8")
    assert (
        "\nCameras: A fails at 1 of 3 places, worst: ledge; B fails at 1 of 3 places, worst: ledge.\n" in told
    )


def test_a_column_that_holds_says_at_how_many(tmp_path: Path) -> None:
    path = yard(tmp_path, STUDY.replace("[-20, 0, 0]", "[-12, 0, 0]") + ON_ROWS, SCENE)
    done("sheet", path.name, *SMALL, "-o", "sheet.svg", cwd=tmp_path)
    assert (tmp_path / "sheet.svg").read_text("utf-8").count(">at 3 places<") == 2


def test_judge_counts_cameras_and_one_that_fails_at_a_place_does_not_hold(tmp_path: Path) -> None:
    path = yard(tmp_path, STUDY + ON_ROWS, SCENE)
    told = call("judge", path.name, "--renderer", "rays", cwd=tmp_path)
    assert told.code == 1
    assert told.text.endswith(
        "Camera 1 fails at 1 of 3 places, worst: ledge.\n"
        "Camera 2 fails at 1 of 3 places, worst: ledge.\n"
        "0 of 2 cameras hold.\n"
    )


def test_several_studies_are_judged_by_cameras_as_one_is(tmp_path: Path) -> None:
    """Both cameras fail at the ledge alone, so that neither level holds, though most cells do."""
    path = yard(tmp_path, STUDY + ON_ROWS, SCENE)
    again = tmp_path / "again.study.toml"
    again.write_text(path.read_text("utf-8"), "utf-8")
    alone = call("judge", path.name, "--renderer", "rays", cwd=tmp_path)
    both = call("judge", path.name, again.name, "--renderer", "rays", "--json", "all.json", cwd=tmp_path)
    assert (alone.code, both.code) == (1, 1)
    studies = json.loads((tmp_path / "all.json").read_text("utf-8"))["studies"]
    assert [one["cameras"] for one in studies] == [{"holding": 0, "of": 2}] * 2
    assert [(one["holds"], one["place"]) for one in studies] == [(False, "ledge")] * 2


def test_one_camera_that_holds_everywhere_is_enough_unless_every_one_must(tmp_path: Path) -> None:
    # From 14 m to the right the board's 2 m are passed 3.9 m off and more: the crate is seen past its edge.
    sweep = '[sweep]\nrows = { place = "*" }\ncolumns = { yaw_deg = [0, 90], distance_m = [8, 14] }\n'
    path = yard(tmp_path, STUDY + sweep, SCENE)
    told = call("judge", path.name, "--renderer", "rays", cwd=tmp_path)
    assert told.text.endswith(
        "Camera 1 fails at 1 of 3 places, worst: ledge.\nCamera 2 holds at 3 places.\n1 of 2 cameras holds.\n"
    )
    assert told.code == 0
    assert call("judge", path.name, "--renderer", "rays", "--every", cwd=tmp_path).code == 1


LENSES = "[sweep]\ncolumns = { focal_mm = [24, 28] }\n"
HIDDEN = ">crate, hidden<"  # the mark on a picture of a thing that is out of view


def test_of_places_off_the_axes_the_first_is_drawn_or_the_worst_and_named(tmp_path: Path) -> None:
    first = drawn(tmp_path / "first", LENSES)
    assert (first.count(HIDDEN), first.count(">at porch, 2 others judged: fails at 1 of 3<")) == (0, 2)
    worst = drawn(tmp_path / "worst", LENSES, "--show", "worst")
    assert (worst.count(HIDDEN), worst.count(">at ledge, 2 others judged: fails at 1 of 3<")) == (2, 2)
    assert "porch, ledge and gate; drawn: ledge" in worst
    for kind in ("json", "csv"):
        records = [(tmp_path / name / f"sheet.{kind}").read_bytes() for name in ("first", "worst")]
        assert records[0] == records[1]


def test_the_worst_place_is_drawn_large_and_drawn_again_from_its_sheet(tmp_path: Path) -> None:
    path = yard(tmp_path, STUDY + LENSES, SCENE)
    done("sheet", path.name, *SMALL, "--layout", "hero", "--show", "worst", "-o", "a.png", cwd=tmp_path)
    done("inspect", "a.png", "--redraw", "b.png", cwd=tmp_path)
    assert (tmp_path / "a.png").read_bytes() == (tmp_path / "b.png").read_bytes()


def test_the_worst_place_needs_a_must(tmp_path: Path) -> None:
    path = yard(tmp_path, STUDY.partition("[[limit]]")[0] + LENSES, SCENE)
    assert "no place is the worst" in refused("sheet", path.name, *SMALL, "--show", "worst", cwd=tmp_path)


@pytest.mark.parametrize(
    ("sweep", "says"),
    [
        ('rows = { place = ["*", "gate"] }', "stands alone"),
        ('rows = { place = "*", pitch_deg = [1] }', "stands alone"),
    ],
)
def test_every_place_stands_alone_on_its_axis(tmp_path: Path, sweep: str, says: str) -> None:
    path = yard(tmp_path, f"{STUDY}[sweep]\n{sweep}\n", SCENE)
    assert says in refused("check", path.name, cwd=tmp_path)


def test_a_rows_head_names_the_worst_cell_where_words_are_too_long(tmp_path: Path) -> None:
    lights = "columns = { light_yaw_deg = [75, 25], light_pitch_deg = [14, 58] }"
    limit = '[[limit]]\nreading = "targets.crate.seen"\nplace = "ledge"\nmin = 0.6\n'
    brief = STUDY.partition("[[limit]]")[0] + limit
    path = yard(tmp_path, f"{brief}[sweep]\nrows = {{ focal_mm = [24, 28] }}\n{lights}\n", SCENE)
    done("sheet", path.name, *SMALL, "-o", "sheet.svg", cwd=tmp_path)
    said = (tmp_path / "sheet.svg").read_text("utf-8")
    # two lights at three places each, of which the ledge fails under both; the first of equals is told
    assert said.count(">at 2 of 6<") == 2
    assert said.count(">worst:<") == 2
    assert said.count(">A1<") == said.count(">A2<") + 1
    assert "Cameras: A fails at 2 of 6 places × lights, worst: ledge, light yaw 75°" in (
        tmp_path / "sheet.txt"
    ).read_text("utf-8")


def test_a_chosen_variant_is_judged_at_its_own_place_by_all_that_tell_of_it(tmp_path: Path) -> None:
    # A is at the porch, where all of the crate is seen, B at the ledge, where the screen hides it wholly
    path = yard(tmp_path, STUDY + ON_ROWS, SCENE)
    for label, code, verdict, where in (("A1", 0, "holds", "porch"), ("B1", 1, "fails", "ledge")):
        done("choose", path.name, label, "--because", "it counts", cwd=tmp_path)
        one = call("judge", path.name, "--renderer", "rays", cwd=tmp_path)
        assert (one.code, one.text.splitlines()[-1]) == (code, f"The chosen one, {label}, {verdict}.")
        row = call("judge", path.name, "--renderer", "rays", "-o", "levels.svg", "--force", cwd=tmp_path)
        assert row.code == code
        assert row.text.startswith(f"yard {verdict}, ")
        assert row.text.splitlines()[0].endswith(f"({label}).")
        done("sheet", path.name, *SMALL, "-o", "sheet.svg", "--force", cwd=tmp_path)
        (line,) = (
            line
            for line in (tmp_path / "sheet.txt").read_text("utf-8").splitlines()
            if line.startswith("Chosen: ")
        )
        assert line.startswith(f"Chosen: {label}, 24 mm ")
        assert f", at {where}: because it counts; it {verdict}" in line
        words = " ".join(re.sub("<[^>]*>", " ", (tmp_path / "sheet.svg").read_text("utf-8")).split())
        assert re.search(rf"{label}, .*: because it counts; it {verdict}", words)
        record = json.loads((tmp_path / "sheet.json").read_text("utf-8"))
        said = {one["variant"]: one["holds"] for one in record["verdicts"]}
        assert said[record["study"]["decision"]["variant"]] is (verdict == "holds")
        assert [one["holds"] for one in record["cameras"]] == [False, False]
    # what changed is told of the variant, too, and not of its camera: the screen stays away
    (tmp_path / "mended.study.toml").write_text(
        path.read_text("utf-8").replace("move = { screen = [-20, 0, 0] }", ""), "utf-8"
    )
    told = call("compare", path.name, "mended.study.toml", "--renderer", "rays", cwd=tmp_path)
    assert told.code == 1
    changed = [line.rpartition(", ")[2] for line in told.text.splitlines() if "fails -> holds" in line]
    assert changed == ["B1: fails -> holds", "B2: fails -> holds"]


def test_a_chosen_variant_holds_only_where_it_does_at_all_of_its_places(tmp_path: Path) -> None:
    path = yard(tmp_path, STUDY + "[sweep]\ncolumns = { focal_mm = [24, 28] }\n", SCENE)
    done("choose", path.name, "A2", "--because", "it counts", cwd=tmp_path)
    told = call("judge", path.name, "--renderer", "rays", cwd=tmp_path)
    assert (told.code, told.text.splitlines()[-1]) == (1, "The chosen one, A2, fails.")  # at the ledge
    done("sheet", path.name, *SMALL, "-o", "sheet.svg", cwd=tmp_path)
    line = (tmp_path / "sheet.txt").read_text("utf-8").partition("Chosen: ")[2].partition("\n")[0]
    assert "; it fails: " in line
    assert "(ledge)" in line
