"""What a brief asks to be drawn, counted by hand."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from types import SimpleNamespace
from unittest.mock import patch

import pytest

from peak import study_of
from stationpoint.camera import DEPTH, IDS, WHOLE, Frame, Shot
from stationpoint.readings import bounded_paths
from stationpoint.render import open_renderer
from stationpoint.run import Wants, only_judged, prepare_study, sweep_variants
from stationpoint.run import sweep as action
from stationpoint.run.cases import cases
from stationpoint.run.sweep import shots_of
from stationpoint.run.warnings import Warnings
from stationpoint.scene import Scene
from stationpoint.study import read_study

PLACE = '[[place]]\nname = "there"\nat = [0.5, 0, 0]\n'
VIEWING = '[[viewing]]\nname = "{}"\ndiagonal_in = 27\npixels = [1920, 1080]\neye_distance_m = {}\n'
SEEN = '[[limit]]\nreading = "targets.*.seen"\nmin = 0.3\n'


def drawn(folder: Path, rows: int, columns: int, more: str) -> list[Shot]:
    """The shots that judging a study draws."""
    path = folder / study_of(folder, rows, columns, SEEN + more)
    prepared = prepare_study(read_study(path), folder)
    shots: list[Shot] = []

    @contextmanager
    def opened(name: str, scene: Scene) -> Iterator[object]:
        with open_renderer(name, scene) as renderer:

            def draw(shot: Shot) -> Frame:
                shots.append(shot)
                return renderer.draw(shot)

            def begin(shot: Shot) -> Callable[[], Frame]:
                shots.append(shot)
                return renderer.begin(shot)

            yield SimpleNamespace(begin=begin, draw_all=lambda some: [draw(shot) for shot in some])

    only = frozenset(one[0] for one in bounded_paths(prepared.study))
    with patch.object(action, "open_renderer", opened):
        sweep_variants(prepared, Wants(picture=False, only=only), "rays")
    return shots


@pytest.mark.parametrize(("viewings", "places"), [(1, 1), (3, 1), (1, 2), (3, 2)])
def test_a_brief_on_what_is_seen_draws_a_zoom_a_thing_and_nothing_else(
    viewings: int, places: int, tmp_path: Path
) -> None:
    # At 16 m a crate of 1 m has 544 x 35 / 36 / 16 = 33 px, a body of 1.8 m 60: both are counted in zooms of
    # their own, so that 2 variants are 2 x 2 pictures a place, whoever sees them, and none is of the eye.
    more = PLACE * (places - 1) + "".join(VIEWING.format(f"v{k}", 0.6 + k) for k in range(viewings))
    shots = drawn(tmp_path, 1, 2, more)
    assert len(shots) == 2 * 2 * places
    assert {plane for shot in shots for plane in shot.planes} <= {IDS, DEPTH, WHOLE}


@pytest.mark.parametrize(
    ("limit", "hides", "groups"),
    [
        ('reading = "targets.*.size_arcmin"\nmin = 1', True, set()),  # geometry alone
        ('reading = "targets.*.seen"\nmin = 0.3', True, {"crate"}),  # nobody asks for the body
        ('reading = "targets.*.seen"\nmin = 0.3', False, {"crate", "body"}),  # a body must be seen unasked
        ('reading = "framing.headroom"\nmin = 0', True, set()),
    ],
)
def test_a_verdict_without_a_record_draws_only_what_is_bounded(
    limit: str, hides: bool, groups: set[str], tmp_path: Path
) -> None:
    path = tmp_path / study_of(tmp_path, 1, 1, f"[[limit]]\n{limit}\n")
    if hides:
        hidden = path.read_text("utf-8").replace("[subject]\n", "[subject]\nmay_hide = true\n")
        path.write_text(hidden, "utf-8")
    prepared = prepare_study(read_study(path), tmp_path)
    only = only_judged(prepared.study)
    (case,) = cases(prepared, 544, marked=False, only=only)
    shots = shots_of(case, Wants(picture=False, only=only), False).values()
    assert {name for shot in shots for group in shot.whole for name in group} == groups


def test_a_target_far_off_the_picture_is_told_though_nothing_is_drawn(tmp_path: Path) -> None:
    # 35 mm on 36 mm from 16 m sees 4.6 m up and down; 40 m over the body there is nothing of a crate.
    more = '[[target]]\nname = "far"\nat = [0, 40, 0]\nsize = [1, 1, 1]\n'
    path = tmp_path / study_of(tmp_path, 1, 1, '[[limit]]\nreading = "targets.*.size_px"\nmin = 1\n')
    text = path.read_text("utf-8").replace("[subject]\n", "[subject]\nmay_hide = true\n")
    path.write_text(text.replace("[camera]", more + "[camera]"), "utf-8")
    prepared = prepare_study(read_study(path), tmp_path)
    only = only_judged(prepared.study)
    results = sweep_variants(prepared, Wants(picture=False, only=only), "rays")
    told = Warnings(prepared.scene, by_size=True)
    told.add(results[0])
    assert [line for line in told.lines if "off the picture" in line] == ['A1: "far" is off the picture.']
