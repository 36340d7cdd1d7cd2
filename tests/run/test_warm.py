"""What stays warm between drawings gives what a fresh drawing gives, and draws only what has changed."""

from __future__ import annotations

import pickle
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from dataclasses import fields
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from cli_calls import SCENE, STUDY, yard
from stationpoint.readings import Result
from stationpoint.run.prepare import Prepared, prepare_study
from stationpoint.run.recorded import record_of
from stationpoint.run.sweep import Wants, sweep_variants
from stationpoint.run.warm import Warm
from stationpoint.study import read_study

WANTS = Wants(cell_width=96, ids=True, hidden=True)
BRIEF = '\n[[limit]]\nreading = "targets.crate.seen"\nmin = 0.5\nwhy = "it must show"\n'
PLACE = '\n[[place]]\nname = "shut"\nmove = { crate = [0, 0, -4] }\n'
WHOLE = STUDY + BRIEF + PLACE


@pytest.fixture
def warm() -> Iterator[Warm]:
    with ExitStack() as open_things:
        yield Warm(open_things)


def changed(old: str, new: str) -> Callable[[str], str]:
    assert old in WHOLE
    return lambda text: text.replace(old, new)


def prepared(folder: Path, study: str, scene: str = SCENE, by: Warm | None = None) -> Prepared:
    read = read_study(yard(folder, study, scene))
    if by is None:
        return prepare_study(read, folder)
    return by.settled(prepare_study(read, folder, by.scene(folder / read.scene, read.mesh_keys)))


def parts(results: list[Result]) -> list[Any]:
    """All that results hold, comparable."""
    found: list[Any] = []
    for result in results:
        for one in fields(result):
            value = getattr(result, one.name)
            if one.name in ("variant", "place", "stands", "filled"):
                found.append(value)
            elif isinstance(value, np.ndarray):
                found.append(value.tobytes())
            else:
                found.append(pickle.dumps(value) if one.name == "glances" else None)
    return found


@pytest.mark.parametrize(
    ("edit", "drawn"),
    [
        (changed("Does the crate show?", "Other words"), 0),
        (changed("it must show", "since it must"), 0),
        (changed("min = 0.5", "min = 0.9"), 0),
        (lambda text: text + '\n[decision]\nchosen = "abcdef"\n', 0),
        (changed("[24, 50]", "[50, 24]"), 0),  # they change places
        (changed("[24, 50]", "[50]"), 0),
        (changed("[24, 50]", "[24, 35, 50]"), 1),
        (changed("[24, 50]", "[24, 51]"), 1),
        (changed("columns = { focal_mm", "rows = { focal_mm"), 0),
        (changed("distance_m = 8", "distance_m = 9"), 2),
        (changed("at = [0, 0, 0]", "at = [0, 0, 0.5]"), 2),
        (changed("crate = [0, 0, -4]", "crate = [0, 0, -5]"), 2),
        (changed('node = "crate"', 'node = "crate"\nrole = "secondary"'), 2),
        (changed("reach_m = 3", "reach_m = 2"), 2),
        (lambda text: text + "\n[light]\nyaw_deg = 90\n", 2),
        (lambda text: text + '\n[[limit]]\nreading = "targets.crate.contrast.ratio"\nmin = 1\n', 2),
    ],
)
def test_an_edit_draws_what_it_changes_and_gives_what_a_fresh_drawing_gives(
    edit: Callable[[str], str], drawn: int, warm: Warm, tmp_path: Path
) -> None:
    warm.sweep(prepared(tmp_path, WHOLE, by=warm), WANTS, "rays")
    assert warm.drawn == 2
    after = prepared(tmp_path, edit(WHOLE), by=warm)
    found = warm.sweep(after, WANTS, "rays")
    assert warm.drawn == drawn
    fresh = prepared(tmp_path, edit(WHOLE))
    expected = sweep_variants(fresh, WANTS, "rays")
    assert parts(found) == parts(expected)
    assert record_of(after, found, "rays") == record_of(fresh, expected, "rays")


def test_another_scene_or_size_is_drawn_again(warm: Warm, tmp_path: Path) -> None:
    warm.sweep(prepared(tmp_path, WHOLE, by=warm), WANTS, "rays")
    taller = prepared(tmp_path, WHOLE, SCENE.replace("size = [6, 2, 0.3]", "size = [6, 3, 0.3]"), warm)
    found = warm.sweep(taller, WANTS, "rays")
    assert warm.drawn == 2
    fresh = sweep_variants(
        prepared(tmp_path, WHOLE, (tmp_path / "yard.toml").read_text("utf-8")), WANTS, "rays"
    )
    assert parts(found) == parts(fresh)
    warm.sweep(taller, Wants(cell_width=120), "rays")
    assert warm.drawn == 2
    warm.sweep(taller, WANTS, "rays")
    assert warm.drawn == 0


def test_what_was_wanted_longest_ago_is_let_go(
    warm: Warm, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("stationpoint.run.warm.MOST_BYTES", 1)
    warm.sweep(prepared(tmp_path, WHOLE, by=warm), WANTS, "rays")
    warm.sweep(prepared(tmp_path, WHOLE.replace("[24, 50]", "[24, 51]"), by=warm), WANTS, "rays")
    assert warm.drawn == 1  # what is wanted now stays, whatever it takes
    warm.sweep(prepared(tmp_path, WHOLE, by=warm), WANTS, "rays")
    assert warm.drawn == 1
