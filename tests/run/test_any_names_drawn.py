"""Names that could be taken for others, from the study's text to the sheet: only words change."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

import pytest

from stationpoint.ink.shapes import Group, Shape, Text
from stationpoint.readings.kinds import FIELDS
from stationpoint.readings.types import Result, Value
from stationpoint.readings.verdict.judge import judge_all
from stationpoint.record.csv import csv_text
from stationpoint.run.prepare import Prepared, prepare_study
from stationpoint.run.recorded import record_of
from stationpoint.run.sweep import Wants, sweep_variants
from stationpoint.sheet.compose import compose_pages
from stationpoint.sheet.plan.data import plan_data
from stationpoint.sheet.roles import owners_by_id
from stationpoint.study.file import study_from_text
from stationpoint.study.models import Study
from stationpoint.study.toml import toml_value

PLAIN = ("crate", "lamp", "deck", "floor", "box", "bulb", "hop", "step", "noon", "night", "tv", "pad", "me")
Names = Mapping[str, str]


def _named(*hostile: str) -> Names:
    return dict(zip(PLAIN, hostile, strict=True))


def _texts(names: Names) -> tuple[str, str]:
    """A scene and its study under these names."""
    q = {plain: toml_value(name) for plain, name in names.items()}
    scene = f"""
[ground]
size = [40, 40]
[[solid]]
name = {q["box"]}
shape = "box"
size = [1, 1, 1]
at = [2, 0, -2]
[[solid]]
name = {q["bulb"]}
shape = "box"
size = [0.5, 0.5, 0.5]
at = [-2, 2.5, -1]
[[solid]]
name = {q["deck"]}
shape = "box"
size = [2, 0.8, 2]
at = [3, 0, -7]
[[solid]]
name = {q["floor"]}
shape = "box"
size = [2, 0.4, 2]
at = [-5, 0, -5]
"""
    study = f"""
title = "Which?"
scene = "yard.toml"
aids = ["cast-shadow"]
[subject]
name = {q["me"]}
at = [0, 0, 1]
[[target]]
name = {q["crate"]}
node = {q["box"]}
[[target]]
name = {q["lamp"]}
node = {q["bulb"]}
role = "secondary"
like = [{q["crate"]}]
[[gap]]
name = {q["hop"]}
from = [0, 0, 0]
to = [3, 0.8, -7]
reach_m = 8
[[gap]]
name = {q["step"]}
from = [-5, 0, -2]
to = [-5, 0.4, -5]
landing = {q["floor"]}
reach_m = 1
[[place]]
name = {q["noon"]}
at = [0, 0, 0]
[[place]]
name = {q["night"]}
move = {{ {q["box"]} = [0, 1, 0] }}
[camera]
focal_mm = 35
distance_m = 9
pitch_deg = 20
aspect = "16:9"
[sweep]
columns = {{ focal_mm = [24, 35] }}
[[viewing]]
name = {q["tv"]}
diagonal_in = 55
pixels = [1920, 1080]
eye_distance_m = 2.7
[[viewing]]
name = {q["pad"]}
diagonal_in = 7
pixels = [1280, 720]
eye_distance_m = 0.35
[[limit]]
reading = "targets.*.seen"
min = 0.5
viewing = {q["tv"]}
place = {q["night"]}
"""
    return scene, study


def _measured(folder: Path, names: Names) -> tuple[Prepared, list[Result]]:
    scene, text = _texts(names)
    folder.mkdir()
    (folder / "yard.toml").write_text(scene, "utf-8", newline="")
    prepared = prepare_study(study_from_text(text, "yard.study.toml"), folder)
    return prepared, sweep_variants(prepared, Wants(cell_width=480, ids=True), "rays")


def _worth(value: Value) -> object:
    """What of a value is no name."""
    if isinstance(value, str):
        return "words"
    if isinstance(value, tuple):
        return tuple(map(_worth, value))
    return tuple(map(_worth, value.values())) if isinstance(value, Mapping) else value


def _drawn(prepared: Prepared, results: Sequence[Result]) -> list[Shape]:
    """The shapes of the sheet's one page."""
    setups = [(result.variant.label, result.setup) for result in results if result.picture is not None]
    nodes, study = prepared.scene.nodes, prepared.study
    (page,) = compose_pages(
        results, study, record_hash="x", cell_width=480,
        plan=plan_data(nodes, setups, study), owner_by_id=owners_by_id(nodes, study),
    )  # fmt: skip
    return list(_flat(page.shapes))


def _flat(shapes: Iterable[Shape]) -> Iterable[Shape]:
    for shape in shapes:
        if isinstance(shape, Group):
            yield from _flat(shape.shapes)
        else:
            yield shape


def _limits_told(results: Sequence[Result], study: Study) -> list[object]:
    found = judge_all(results, study).values()
    return [(one.variant, one.holds, one.score, len(one.failed)) for one in found]


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> tuple[Prepared, list[Result]]:
    return _measured(tmp_path_factory.mktemp("plain") / "a", _named(*PLAIN))


HOSTILE = {
    "our words": _named(
        "main", "here", "sky", "subject", "main", "zoom", "main", "gap", "A1", "ground", "desk", "seen", "s"
    ),
    "our joins": _named(
        "gap:x", "target:", "deck+", "gap:", "deck", "deck+floor", "x", "gap:x", "a.b", "a/b", "x", "a.b", "m"
    ),
    "each other's": _named(
        "deck", "floor", "deck", "hop", "step", "noon", "deck", "step", "tv", "pad", "tv", "noon", "crate"
    ),
    "alike": _named(
        "x", "X", "caf\u00e9", "cafe\u0301", "x", "X", "x", "X", "x", "X", "caf\u00e9", "cafe\u0301", "Me"
    ),
    "control characters": _named(
        "\x01", "\x02", "\x1f", "\x1b[2J", "a\nb", "a\tb", "\x01", "\t", "\x01", "\x02", "\x01", "\x02", "m"
    ),
}  # fmt: skip


@pytest.mark.parametrize("kind", HOSTILE)
def test_names_that_could_be_taken_for_others_change_nothing_but_words(
    kind: str, tmp_path: Path, plain: tuple[Prepared, list[Result]]
) -> None:
    prepared, results = _measured(tmp_path / "b", HOSTILE[kind])
    assert len(results) == len(plain[1]) == 6
    for result, other in zip(results, plain[1], strict=True):
        assert len(result.reading.values) == len(other.reading.values) > 300
        values = zip(result.reading.values.items(), other.reading.values.values(), strict=True)
        for (path, value), expected in values:
            assert _worth(value) == _worth(expected), path
    assert _limits_told(results, prepared.study) == _limits_told(plain[1], plain[0].study)
    count, whole = (Counter(map(type, _drawn(*made))) for made in ((prepared, results), plain))
    del count[Text], whole[Text]  # a name that is too long for its room is left out
    assert count == whole
    table = csv_text(record_of(prepared, results, "rays"), FIELDS)
    assert len(table.splitlines()) >= 7
