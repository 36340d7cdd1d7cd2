"""The table of kinds: every field is filled, nothing is written twice, only what is asked is drawn."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import stationpoint.readings.kinds as measure
from readings.made import COUCH, DESK, block, body, camera, case, drawn, reading, values
from stationpoint.base.errors import StudyWrong
from stationpoint.readings.kinds import FIELDS, GROUPS, KINDS, needs_shots, read, wanted
from stationpoint.readings.types import Case, Path

GAP = {"name": "g", "from": (0, 0, 0), "to": (0, 0, -4), "reach_m": 3.0}


def _full() -> Case:
    nodes = (block("floor", (0, -1, 0), (30, 1, 30)), block("crate", (1, 0, -2), (1, 1, 1)))
    return case(
        camera(anchor=(0, 1, 0)), *nodes, block("far", (-30, 0, 60), (1, 1, 1)), body((3, 0, -2), "hopper"),
        subject={"name": "hopper", "at": (3, 0, -2)}, others=[{"name": "second", "node": "crate"}],
        target=[{"name": "a", "node": "crate"}, {"name": "b", "node": "far"}, {"name": "c", "at": (0, 0, 1)}],
        gap=[GAP], at=[COUCH, DESK], cell=(160, 90),
    )  # fmt: skip


def _matches(path: Path, known: Path) -> bool:
    return len(path) == len(known) and all(b in (a, "*") for a, b in zip(path, known, strict=True))


def test_every_value_has_one_field_and_every_field_a_value() -> None:
    found = values(_full())
    assert len(found) > 100
    for path in found:
        assert sum(_matches(path, field.path) for field in FIELDS) == 1, path
    for field in FIELDS:
        assert any(_matches(path, field.path) for path in found), field.path


def test_fields_are_unique_and_say_what_they_are() -> None:
    assert len(FIELDS) > 50
    assert len({field.path for field in FIELDS}) == len(FIELDS)
    for field in FIELDS:
        assert field.says.endswith("."), field.path
        assert 0 <= field.decimals <= 9
    assert set(GROUPS) == {
        "targets", "subject", "gaps", "axes", "pairs", "planes", "framing", "boom", "viewing", "cues",
        "twins", "false_contacts", "false_breaks", "subjects",
    }  # fmt: skip


def test_no_value_is_nan_and_arrays_never_get_into_the_record() -> None:
    for path, value in values(_full()).items():
        parts = value if isinstance(value, tuple) else (value,)
        for part in parts:
            assert part is None or isinstance(part, (bool, int, float, str, dict)), path
            assert not isinstance(part, np.generic), path
            assert not isinstance(part, float) or np.isfinite(part), path


def test_only_what_is_asked_for_is_drawn_and_told() -> None:
    made = _full()
    assert wanted(made, ["directions", "viewing", "positions", "size"]) == {}
    assert {path[0] for path in read(made, {}, ["directions"]).values} == {"axes", "pairs", "planes"}
    for group in ("axes", "pairs"):
        assert {path[0] for path in read(made, {}, [group]).values} == {group}
    assert not needs_shots(["directions", "framing-geometry"])
    assert needs_shots(["framing"])  # what the subject covers is seen in a picture
    assert {path[-2] for path in read(made, {}, ["size"]).values} == {"size_px", "size_arcmin"}
    assert wanted(made, []) == {}
    assert set(wanted(made)) == {
        ("main",),
        ("zoom", "target", "a"),
        ("zoom", "target"),
        ("zoom", "target", "subjects", "second"),
        ("top", "g"),
        ("plain",),
    }
    assert set(wanted(made, ["gaps"])) == {("top", "g")}


def test_the_same_case_wants_the_same_shots() -> None:
    made = _full()
    first, second = wanted(made), wanted(made)
    assert first.keys() == second.keys()
    assert all(first[name] is second[name] for name in first)


def test_kinds_and_groups_share_no_word() -> None:
    names = [kind.name for kind in KINDS]
    assert len(set(names)) == len(names)
    assert set(names).isdisjoint(GROUPS)


def test_unknown_family_offers_the_nearest_name() -> None:
    with pytest.raises(StudyWrong, match='no family of readings called "axis"') as caught:
        wanted(_full(), ["axis"])
    assert 'Did you mean "axes"?' in str(caught.value)


def test_two_kinds_that_write_one_path_are_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(measure, "KINDS", (*KINDS, replace(KINDS[0], name="again")))
    with pytest.raises(AssertionError, match="again writes"):
        reading(case(camera(), target=[{"name": "t", "at": (0, 0, 0)}], cell=(160, 90)))


def test_two_shots_with_one_key_are_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    made = _full()
    other = {("main",): replace(wanted(made)["main",], shadow=False)}
    again = replace(KINDS[-1], name="again", shots=lambda made: other)
    monkeypatch.setattr(measure, "KINDS", (*KINDS, again))
    with pytest.raises(AssertionError, match="two shots have the key"):
        wanted(made)


def test_study_with_nothing_to_measure_still_reads() -> None:
    found = values(case(camera(), body((0, 0, 0)), cell=(160, 90), subject={"at": (0, 0, 0)}))
    assert found["framing", "headroom"] is not None
    assert not [path for path in found if path[0] in ("targets", "gaps")]


def test_readings_do_not_depend_on_the_stand_ins_frames_being_fresh() -> None:
    made = _full()
    frames = {name: drawn(made.scene, shot) for name, shot in wanted(made).items()}
    assert read(made, frames).values == read(made, dict(frames)).values
