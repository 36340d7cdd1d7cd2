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
from stationpoint.run import Wants, prepare_study, sweep_variants
from stationpoint.run import sweep as action
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

            yield SimpleNamespace(draw=draw, begin=begin)

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
