"""The pipeline: what is asked for is drawn once, and results come back in the sweep's order."""

from __future__ import annotations

import os
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from itertools import pairwise
from pathlib import Path
from unittest.mock import patch

import numpy as np
import pytest

from cli_calls import STUDY, doubling, yard
from stationpoint.base.errors import MachineLacks, StudyWrong
from stationpoint.camera.shot import Frame, Shot
from stationpoint.run import sweep as run
from stationpoint.run.cases import aspect_words, cases, moves_at, pictures_of, seat_of
from stationpoint.run.prepare import Prepared, prepare_study
from stationpoint.run.sweep import Wants, cases_to_draw, must_draw, only_asked, sweep_variants
from stationpoint.run.workers import worth
from stationpoint.run.workers.processes import can_fork, work_in_order
from stationpoint.run.workers.worth import workers_worth
from stationpoint.scene.types import Scene
from stationpoint.study.file import read_study
from stationpoint.study.models import Viewing


def prepared(folder: Path, study: str = STUDY) -> Prepared:
    return prepare_study(read_study(yard(folder, study)), folder)


class Counting:
    """A stand-in for a renderer: planes of nothing, and a list of what was asked for."""

    name = "counting"

    def __init__(self) -> None:
        self.shots: list[Shot] = []

    def begin(self, shot: Shot) -> Callable[[], Frame]:
        frame = self.draw(shot)
        return lambda: frame

    def draw_all(self, shots: Sequence[Shot]) -> list[Frame]:
        return [self.draw(shot) for shot in shots]

    def draw(self, shot: Shot) -> Frame:
        self.shots.append(shot)
        width, height = shot.camera.pixels
        return Frame(
            np.zeros((height, width, 3), np.uint8),
            np.full((height, width), np.inf, np.float32),
            np.zeros((height, width), np.uint32),
            np.zeros((height, width), np.uint32),
        )


@pytest.fixture
def counting() -> Iterator[list[Counting]]:
    opened: list[Counting] = []

    @contextmanager
    def open_counting(name: str, scene: Scene) -> Iterator[Counting]:
        opened.append(Counting())
        yield opened[-1]

    with patch.object(run, "open_renderer", open_counting):
        yield opened


PLACES = '[[place]]\nname = "later"\nat = [1, 0, 1]\n[[place]]\nname = "last"\nat = [2, 0, 1]\n'


def test_takes_come_variant_by_variant_and_place_by_place(tmp_path: Path, counting: list[Counting]) -> None:
    study = prepared(tmp_path, STUDY + PLACES)
    results = sweep_variants(study, Wants(cell_width=64))
    assert cases_to_draw(study) == len(results) == 6
    order = [(result.variant.label, result.place.name) for result in results]
    assert order == [(label, place) for label in ("A1", "A2") for place in ("here", "later", "last")]
    assert len(counting) == 1


def test_only_the_first_take_of_a_variant_keeps_a_picture(tmp_path: Path, counting: list[Counting]) -> None:
    results = sweep_variants(prepared(tmp_path, STUDY + PLACES), Wants(cell_width=64, ids=True, depth=True))
    assert [result.picture is not None for result in results] == [True, False, False] * 2
    assert [result.ids is not None for result in results] == [True, False, False] * 2
    assert [result.depth_m is not None for result in results] == [True, False, False] * 2
    bare = sweep_variants(prepared(tmp_path), Wants(cell_width=64))
    assert all(result.ids is None and result.depth_m is None for result in bare)


def test_no_renderer_is_opened_where_no_shot_is_wanted(tmp_path: Path, counting: list[Counting]) -> None:
    wants = Wants(picture=False, only=frozenset({"axes"}))
    assert not must_draw(wants)
    assert len(sweep_variants(prepared(tmp_path), wants)) == 2
    assert counting == []
    assert must_draw(Wants(picture=False))
    assert must_draw(Wants(only=frozenset({"axes"})))


def test_picture_is_drawn_as_it_is_wanted(tmp_path: Path, counting: list[Counting]) -> None:
    sweep_variants(prepared(tmp_path), Wants(cell_width=64, grid=False, shadow=False))
    pictures = [shot for shot in counting[0].shots if "colour" in shot.planes and shot.tinted]
    assert len(pictures) == 2
    assert all(not shot.shadow and not shot.grid and shot.camera.pixels == (64, 36) for shot in pictures)


def test_shots_of_one_camera_are_drawn_together_the_pictures_own_first(
    tmp_path: Path, counting: list[Counting]
) -> None:
    aids = 'aids = ["ground-texture", "cast-shadow", "drop-marker"]\n'
    sweep_variants(prepared(tmp_path, aids + STUDY), Wants(cell_width=320))
    cameras = [id(shot.camera) for shot in counting[0].shots]
    changes = sum(one != other for one, other in pairwise(cameras))
    assert len(cameras) > len(set(cameras)) > 2  # several shots of some cameras
    assert changes == len(set(cameras)) - 1
    assert counting[0].shots[0].about_m is not None


def test_readings_are_asked_for_by_group_or_by_pattern(tmp_path: Path) -> None:
    made = prepared(tmp_path)
    assert only_asked(None, made) is None
    assert only_asked(" gaps , axes,", made) == {"gaps", "axes", "pairs", "planes"}
    assert only_asked("targets.*.size_px,gaps", made) == {"size", "gaps"}
    with pytest.raises(StudyWrong, match='"gapz"; did you mean "gaps"'):
        only_asked("gapz", made)
    with pytest.raises(StudyWrong, match="names no group"):
        only_asked(" , ", made)
    with pytest.raises(StudyWrong, match=r"--only targets\.crat\.seen: `crat` is not a name under targets"):
        only_asked("targets.crat.seen", made)


@pytest.mark.parametrize("forked", [False, True])
def test_processes_hand_back_in_order_and_pass_errors_on(forked: bool) -> None:
    if forked and sys.platform != "linux":
        pytest.skip("processes are forked on Linux alone")
    with patch("stationpoint.run.workers.processes.can_fork", lambda: forked):
        assert list(work_in_order(doubling, list(range(9)), 2)) == [0, 2, 4, 6, 8, 10, 12, 14, 16]
        assert list(work_in_order(doubling, [], 2)) == []
        with pytest.raises(StudyWrong, match="below 0"):
            list(work_in_order(doubling, [1, -1, 2, 3], 2))
        with pytest.raises(MachineLacks, match="ended in the middle"):
            list(work_in_order(doubling, [1, 5000, 2], 2))


def test_one_process_works_in_place() -> None:
    @contextmanager
    def told() -> Iterator[Callable[[int], int]]:
        yield lambda number: os.getpid() * number

    assert list(work_in_order(told, [1, 2], 1)) == [os.getpid(), 2 * os.getpid()]


def test_nothing_is_forked_beside_another_thread() -> None:
    held = threading.Event()
    other = threading.Thread(target=held.wait)
    other.start()
    try:
        assert not can_fork()
    finally:
        held.set()
        other.join()


def test_as_many_processes_work_as_pay(tmp_path: Path) -> None:
    nine = "yaw_deg = [0, 10, 20, 30, 40, 50, 60, 70, 80]"
    study = prepared(tmp_path, STUDY.replace("focal_mm = [24, 50]", nine))
    few = prepared(tmp_path / "few")
    with patch.multiple(worth, can_fork=lambda: True, has_context=lambda: False):
        for processors, workers in ((1, 1), (2, 2), (64, len(study.variants) // 4)):
            with patch.object(worth, "processors", lambda held=processors: held):
                assert workers_worth(study) == workers
                assert workers_worth(few) == 1
        # A large level must pay for its start in each process, and have room there: 1500 bytes a triangle.
        triangles = sum(len(node.faces) for node in study.scene.nodes)
        for free, workers in ((10**9, len(study.variants) // 4), (2 * 1500 * triangles, 2), (0, 1)):
            large = {"MANY_TRIANGLES": triangles, "TAKES_PER_WORKER": 1, "processors": lambda: 64}
            with patch.multiple(worth, **large, free_bytes=lambda held=free: held):
                assert workers_worth(study) == workers
        with patch.object(worth, "MANY_TRIANGLES", 10):
            assert workers_worth(study) == 1
    with patch.multiple(worth, can_fork=lambda: True, has_context=lambda: True):
        assert workers_worth(study) == 1
    with patch.multiple(worth, can_fork=lambda: False, has_context=lambda: False):
        assert workers_worth(study) == 1


def test_no_process_is_forked_from_one_with_a_context(tmp_path: Path) -> None:
    study = prepared(tmp_path)
    for held in (True, False):
        with (
            patch.object(run, "work_in_order") as each_job,
            patch.object(run, "has_context", return_value=held),
            patch.object(run, "can_fork", return_value=True),
        ):
            sweep_variants(study, Wants(cell_width=64), "rays", 2)
        room = {"room_bytes": 2 * (64 * 36 * 3 + 4096), "let_go": False}
        assert each_job.call_args.kwargs == {"may_fork": not held, "meanwhile": None, **room}


# ---- cases ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("aspect", "words"),
    [(16 / 9, "16:9"), (4 / 3, "4:3"), (7 / 3, "7:3"), (1366 / 768, "16:9"), (2.39, "2.39")],
)
def test_aspects_are_told_as_people_write_them(aspect: float, words: str) -> None:
    said = aspect_words(aspect)
    assert said == words or abs(eval_ratio(said) / aspect - 1) < 5e-4


def eval_ratio(words: str) -> float:
    across, _, down = words.partition(":")
    return float(across) / float(down or 1)


def test_letterbox_is_the_largest_picture_of_its_aspect_in_the_part() -> None:
    viewing = Viewing(name="v", diagonal_in=24, pixels=(1920, 1080), eye_distance_m=0.6, part=(0, 0, 0.5, 1))
    wide = seat_of(viewing, 16 / 9)
    assert wide.picture_px == pytest.approx((960, 540))
    tall = seat_of(viewing, 1 / 2)
    assert tall.picture_px == pytest.approx((540, 1080))
    whole = seat_of(viewing)
    assert whole.picture_px == pytest.approx((960, 1080))
    assert whole.centre_px == pytest.approx((960, 540))  # the screen's middle: the part's right edge


def test_assumed_desk_shows_the_study_s_own_aspect(tmp_path: Path) -> None:
    study = prepared(tmp_path, STUDY.replace('"16:9"', '"2:1"'))
    (picture,) = pictures_of(study.variants[0], study, 100)
    assert picture.shape.words == "2:1"
    assert picture.shape.cell_px == (100, 50)
    assert picture.pixels == (1920, 960)


def test_picture_beyond_the_limit_is_refused(tmp_path: Path) -> None:
    study = prepared(tmp_path, STUDY.replace('"16:9"', '"1:50"'))
    assert len(pictures_of(study.variants[0], study, 300)) == 1
    with pytest.raises(StudyWrong, match="would be 25000 px high; at most 16384"):
        pictures_of(study.variants[0], study, 500)


def test_place_moves_by_pattern_and_the_subject_by_its_place(tmp_path: Path) -> None:
    place = '[[place]]\nname = "p"\nat = [5, 1, 0]\nmove = { "cra*" = [0, 1, 0], "crate" = [2, 0, 0] }\n'
    study = prepared(tmp_path, STUDY + place)
    moves = dict(moves_at(study.study.places[1], study.study, study.scene))
    assert list(moves) == ["crate", "hopper"]
    assert moves["crate"][:3, 3] == pytest.approx([2, 1, 0])  # both patterns mean it
    assert moves["hopper"][:3, 3] == pytest.approx([5, 1, 0])
    assert moves_at(study.study.places[0], study.study, study.scene) == ()


def test_scene_that_no_place_moves_is_shared_by_all_cases(tmp_path: Path) -> None:
    study = prepared(tmp_path)
    assert len({id(case.scene) for case in cases(study, 64)} | {id(study.scene)}) == 1
