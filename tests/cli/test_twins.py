"""`twins` from end to end: what it draws unless told, what it says, what lies beside it; a rooftop job."""

from __future__ import annotations

import io
import json
from math import cos, radians, sin
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from cli_calls import LAMP_SCENE, call, done, listing, process, refused, yard
from stationpoint.run.workers import processes as executors
from stationpoint.study.file import read_study

LAMP = """
title = "Where does the lamp hang?"
scene = "yard.toml"

[subject]
name = "hopper"
at = [-3, 0, 2]

[[target]]
name = "crate"
node = "crate"
role = "secondary"

[[target]]
name = "lamp"
node = "lamp"

[camera]
projection = "orthographic"
view_height_m = 12
distance_m = 20
pitch_deg = 30

[sweep]
columns = { pitch_deg = [30, 60] }
"""
QUICK = ("--renderer", "rays", "--cell-width", "320", "--quiet")
FILES = {f"twins.{ending}" for ending in ("png", "json", "csv", "txt")}
Pixels = NDArray[np.int16]


def twins(folder: Path, *words: str, study: str = LAMP, scene: str = LAMP_SCENE) -> dict[str, bytes]:
    """All files that the command leaves, the study and scene aside; they are made in a folder."""
    yard(folder, study, scene)
    done("twins", "yard.study.toml", *QUICK, "-o", "twins.png", *words, cwd=folder)
    return {name: data for name, data in listing(folder).items() if not name.endswith(".toml")}


def answer(files: dict[str, bytes]) -> str:
    """The line that answers the page's question."""
    return files["twins.txt"].decode().splitlines()[1]


# ---- what is drawn ---------------------------------------------------------------------------------


def test_first_primary_target_under_the_first_variant_is_drawn_unless_told(tmp_path: Path) -> None:
    plain = twins(tmp_path / "a")
    assert plain == twins(tmp_path / "b", "--target", "lamp", "--variant", "A1", "--kind", "slide")
    record = json.loads(plain["twins.json"])
    assert [variant["settings"]["pitch_deg"] for variant in record["variants"]] == [30.0]
    assert plain.keys() == FILES


def test_same_study_gives_the_same_bytes_twice(tmp_path: Path) -> None:
    assert twins(tmp_path / "a", "--shift", "2") == twins(tmp_path / "b", "--shift", "2")


@pytest.mark.parametrize(("label", "pitch_deg"), [("A1", 30.0), ("A2", 60.0)])
def test_slide_goes_along_the_sightline_of_its_variant(label: str, pitch_deg: float, tmp_path: Path) -> None:
    # by hand: 2 m along a sightline that falls by the pitch are 2 cos pitch level and 2 sin pitch in height
    said = answer(twins(tmp_path, "--shift", "2", "--variant", label))
    level, height = 2 * cos(radians(pitch_deg)), 2 * sin(radians(pitch_deg))
    assert said.startswith(f"In {label}, yes: {level:.1f} m ")
    assert f" and {height:.1f} m " in said


def test_mirror_is_another_page_and_is_called_so(tmp_path: Path) -> None:
    slide, mirror = twins(tmp_path / "a"), twins(tmp_path / "b", "--kind", "mirror")
    assert "mirrored in depth" in answer(mirror)
    assert "mirrored" not in answer(slide)
    assert slide["twins.png"] != mirror["twins.png"]


def test_plain_name_is_that_of_the_study_and_a_picture_alone_stays_alone(tmp_path: Path) -> None:
    yard(tmp_path, LAMP, LAMP_SCENE)
    done("twins", "yard.study.toml", *QUICK, "--alone", cwd=tmp_path)
    assert [name for name in listing(tmp_path) if not name.endswith(".toml")] == ["yard.twins.png"]


def test_record_goes_to_standard_output_where_asked(tmp_path: Path) -> None:
    yard(tmp_path, LAMP, LAMP_SCENE)
    piped = done("twins", "yard.study.toml", *QUICK, "-o", "twins.png", "--json", "-", cwd=tmp_path)
    assert piped.record["rows"][0]["twins"]["lamp"]["slide"]["level"] == "same"
    assert not (tmp_path / "twins.json").exists()


def test_inspect_reads_record_and_study_back_and_they_draw_the_page_again(tmp_path: Path) -> None:
    files = twins(tmp_path, "--shift", "2")
    done("inspect", "twins.png", "--json", "again.json", "--study", "again.study.toml", cwd=tmp_path)
    assert (tmp_path / "again.json").read_bytes() == files["twins.json"]
    assert read_study(tmp_path / "again.study.toml").twin_shift_m == 2.0
    done("twins", "again.study.toml", *QUICK, "-o", "again.png", cwd=tmp_path)
    assert (tmp_path / "again.png").read_bytes() == files["twins.png"]


# ---- what is refused -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--target", "lmap"), '--target: there is no target "lmap"; did you mean "lamp"?'),
        (("--target", "crate"), '"crate" has no plausible twin in A1: it stands on ground.'),
        (("--variant", "C1"), '--variant: there is no variant "C1"; the sweep has A1 to A2.'),
        (("-o", "twins.jpg"), "twins.jpg: a sheet is a PNG, SVG or PDF"),
        (("--kind", "spin"), "'spin' is not one of"),
    ],
)
def test_what_cannot_be_drawn_is_said_and_nothing_is_written(
    words: tuple[str, ...], said: str, tmp_path: Path
) -> None:
    yard(tmp_path, LAMP, LAMP_SCENE)
    assert said in refused("twins", "yard.study.toml", *QUICK, *words, cwd=tmp_path)


def test_study_without_targets_has_no_twins(tmp_path: Path) -> None:
    yard(tmp_path, 'scene = "yard.toml"\n', LAMP_SCENE)
    assert "the study names no target" in refused("twins", "yard.study.toml", *QUICK, cwd=tmp_path)


# ---- a rooftop garden: a planter on its plinth -------------------------------------------------------
#
# Pitch 30, the anchor at the planter's foot; the subject waits 30 m below it, out of the picture.
# 35 mm on 36 mm over 1920 px is F 1866.67 px: 124.44 px/m at 15 m, 103.70 at 18 m; ln(18 / 15) 18.2 %.
# 135 mm is F 7200: at 57.857 m 124.44 px/m as well; ln(60.857 / 57.857) 5.06 %.
# Of relative size 3 % are a threshold: 18.2 % are six of them (told), 5.06 % are 1.7 (weakly told).

GARDEN = """
[[solid]]
name = "plinth"
shape = "box"
size = [1.6, 2, 1.6]
at = [0, -2, 0]

[[solid]]
name = "planter"
shape = "box"
size = [1, 1, 1]
at = [0, 0, 0]

[[solid]]
name = "next planter"
shape = "box"
size = [1, 1, 1]
at = [3, 0, 0]
"""
BELOW = """
scene = "yard.toml"

[subject]
at = [0, -30, 0]

[camera]
pitch_deg = 30
anchor_height_m = 30
aspect = "16:9"
CAMERA

[[viewing]]
name = "couch"
diagonal_in = 55
pixels = [1920, 1080]
eye_distance_m = 2.7
"""
PLANTER = '\n[[target]]\nname = "planter"\nnode = "planter"\nwith = ["plinth"]\n'
LIKE = 'like = ["next planter"]\n'
PARALLEL = 'projection = "orthographic"\nview_height_m = 12\ndistance_m = 30'
AT_15_M = "focal_mm = 35\ndistance_m = 15"
LONG = "focal_mm = 135\ndistance_m = 57.857"
HALF_PERCENT = 0.005


def planter(folder: Path, camera: str, more: str = "") -> dict[str, Any]:
    """The slide twin's readings beside the page that `twins --shift 3` draws."""
    study = BELOW.replace("CAMERA", camera) + PLANTER + more
    record = json.loads(twins(folder, "--shift", "3", study=study, scene=GARDEN)["twins.json"])
    found: dict[str, Any] = record["rows"][0]["twins"]["planter"]["slide"]
    return found


def px_per_m(folder: Path, camera: str, *words: str) -> float:
    yard(folder, BELOW.replace("CAMERA", camera), GARDEN)
    only = ("--only", "axes", "--json", "-")
    record = done("measure", "yard.study.toml", *only, *words, cwd=folder).record
    found: float = record["rows"][0]["axes"]["x"]["px_per_m"]
    return found


def test_planter_three_metres_on_is_the_same_picture_in_a_parallel_view(tmp_path: Path) -> None:
    found = planter(tmp_path, PARALLEL)
    assert found["level"] == "same"
    assert found["ambiguous"] is True
    assert (found["silhouette_changed_share"], found["changed_arcmin2"]) == (0.0, 0.0)
    assert abs(found["shift_m"]) == 3.0
    assert px_per_m(tmp_path, PARALLEL) == pytest.approx(1080 / 12, rel=HALF_PERCENT)


def test_like_planter_beside_it_tells_by_relative_size(tmp_path: Path) -> None:
    found = planter(tmp_path, AT_15_M, LIKE)
    assert (found["level"], found["told_by"], found["shift_m"]) == ("told", "relative_size", 3.0)
    assert px_per_m(tmp_path, AT_15_M) == pytest.approx(124.44, rel=HALF_PERCENT)
    there = px_per_m(tmp_path, AT_15_M, "--set", "camera.distance_m=18")
    assert there == pytest.approx(103.70, rel=HALF_PERCENT)


def test_planter_with_nothing_to_compare_is_unanchored(tmp_path: Path) -> None:
    found = planter(tmp_path, AT_15_M)
    assert (found["level"], found["told_by"], found["ambiguous"]) == ("unanchored", None, True)
    assert found["silhouette_changed_share"] > 0.1  # (15 / 18)^2 leaves 69 % of a plate


def test_long_lens_at_the_same_scale_tells_weakly(tmp_path: Path) -> None:
    found = planter(tmp_path, LONG, LIKE)
    assert (found["level"], found["told_by"]) == ("weakly told", "relative_size")
    assert px_per_m(tmp_path, LONG) == pytest.approx(124.44, rel=HALF_PERCENT)


# The roofs. Up the picture is y cos 30 - z sin 30: of (0, 0, 0) it is 0, of (0, -3, -5.196) it is
# -3 cos 30 + 5.196 sin 30 = 0 as well. In space the two are 6.0 m apart.

ROOFS = """
[[solid]]
name = "roof U"
shape = "box"
size = [8, 1, 6]
at = [0, -1, 3]

[[solid]]
name = "roof V"
shape = "box"
size = [8, 1, 6]
at = [0, -4, -8.196]
"""
STEPS = """
[[solid]]
name = "step U"
shape = "box"
size = [3, 1, 6]
at = [7.5, -1, 3]

[[solid]]
name = "step V"
shape = "box"
size = [3, 1, 6]
at = [7.5, -4, -8.196]
"""


def test_roofs_that_look_joined_are_listed_with_their_distance_the_longest_first(tmp_path: Path) -> None:
    yard(tmp_path, BELOW.replace("CAMERA", PARALLEL), STEPS + ROOFS)
    only = ("--only", "false_contacts", "--json", "-", "--renderer", "rays")
    listed = done("measure", "yard.study.toml", *only, cwd=tmp_path).record["rows"][0]["false_contacts"]
    assert [(one["a"], one["b"]) for one in listed] == [("roof U", "roof V"), ("step U", "step V")]
    for one in listed:
        assert one["flat_m"] == pytest.approx(0.0, abs=0.05)
        assert one["level_m"] == pytest.approx(5.196, rel=HALF_PERCENT)
        assert one["height_m"] == pytest.approx(-3.0, rel=HALF_PERCENT)
    long, short = (one["border_arcmin"] for one in listed)
    assert long == pytest.approx(8 * 90 * 0.8074, rel=0.02)  # 8 m at 90 px/m on the couch, ends rounded
    assert short < long / 2


def test_edge_that_looks_joined_is_stitched_over_its_whole_length(tmp_path: Path) -> None:
    yard(tmp_path, BELOW.replace("CAMERA", PARALLEL), ROOFS)
    pages = [_page(tmp_path, "contacts"), _page(tmp_path, "horizon")]
    high = min(len(page) for page in pages)
    rows, columns = np.nonzero(np.abs(pages[0][:high] - pages[1][:high]).max(axis=2) > 40)
    edge = columns[rows < rows.min() + 6]  # the first marks from the top: the upper half of the crosses
    # 480 px are 21.33 m across: the edge of 8 m is 180 px
    assert np.ptp(edge) == pytest.approx(180, abs=20)
    assert len(np.unique(edge)) > 50


def _page(folder: Path, marks: str) -> Pixels:
    words = ("--renderer", "rays", "--cell-width", "480", "--marks", marks, "--alone", "-o", f"{marks}.png")
    done("sheet", "yard.study.toml", *words, cwd=folder)
    return np.asarray(Image.open(io.BytesIO((folder / f"{marks}.png").read_bytes())), dtype=np.int16)


def test_help_names_an_example(tmp_path: Path) -> None:
    said = call("twins", "--help", cwd=tmp_path)
    assert said.code == 0
    assert "--target" in said.text
    assert "Example: stationpoint twins" in said.text


# ---- who draws, and what is told of it -----------------------------------------------------------------


@pytest.mark.parametrize("target", ["lamp", "crate"])  # a secondary one is drawn a third time, for its cues
def test_workers_share_the_pictures_and_change_no_byte(target: str, tmp_path: Path) -> None:
    hanging = LAMP_SCENE.replace("at = [3, 0, 0]", "at = [3, 2, 0]")
    words = ("--target", target, "--renderer", "rays")
    alone = twins(tmp_path / "a", *words, "--workers", "1", scene=hanging)
    yard(tmp_path / "b", LAMP, hanging)
    call_words = ("twins", "yard.study.toml", *QUICK, "-o", "twins.png", *words, "--workers", "2")
    ended = process(*call_words, cwd=tmp_path / "b")
    assert ended.code == 0, ended.err
    shared = {name: data for name, data in listing(tmp_path / "b").items() if not name.endswith(".toml")}
    assert shared == alone


@pytest.mark.parametrize(("workers", "count"), [(1, 0), (2, 2), (5, 2)])
def test_as_many_processes_draw_as_workers_are_asked_for(
    workers: int, count: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    started = []
    start = executors._started

    def counted(*words: Any) -> Any:
        started.append(words)
        return start(*words)

    monkeypatch.setattr(executors, "_started", counted)
    twins(tmp_path, "--workers", str(workers))
    assert len(started) == count  # of a primary target there are two pictures


def test_progress_is_told_in_lines_where_it_is_asked_for(tmp_path: Path) -> None:
    yard(tmp_path, LAMP, LAMP_SCENE)
    words = ("twins", "yard.study.toml", "--renderer", "rays", "--cell-width", "320")
    told = done(*words, "--progress", cwd=tmp_path)
    assert [line for line in told.err.splitlines() if "drawn." in line] == ["1 of 2 drawn.", "2 of 2 drawn."]
    assert "drawn." not in done(*words, cwd=tmp_path).err


def test_a_worker_that_finds_no_twin_says_so_as_the_call_itself_does(tmp_path: Path) -> None:
    yard(tmp_path, LAMP, LAMP_SCENE)
    words = ("twins", "yard.study.toml", *QUICK, "--target", "crate")
    said = [refused(*words, "--workers", workers, cwd=tmp_path) for workers in ("1", "2")]
    assert said[0] == said[1]
    assert '"crate" has no plausible twin in A1: it stands on ground.' in said[0]
