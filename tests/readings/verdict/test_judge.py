"""The brief against readings: matching, margins, nulls, the worst place and viewing."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from stationpoint.base.errors import StudyWrong
from stationpoint.camera.camera import Camera
from stationpoint.camera.seat import seat_at
from stationpoint.camera.shot import Setup
from stationpoint.readings.types import Path, Reading, Result, Value
from stationpoint.readings.verdict.judge import Verdict, judge, judge_all
from stationpoint.study.file import study_from_text
from stationpoint.study.models import Place, Study
from stationpoint.study.sweep import expand

CAMERA = Camera(np.eye(4), np.eye(4), (16, 9), "orthographic", 0.0, 1.0)
SETUP = Setup(
    CAMERA, "orthographic", None, None, None, None, 1.0, 1.0, 0.0, 0.0, 0.0, (0.0, 0.0), None, 16 / 9, "16:9",
    (16, 9), (0.0, 0.0, 0.0),
)  # fmt: skip
DESK = seat_at("desk", 24, (1920, 1080), 0.6)
PHONE = seat_at("phone", 6, (2400, 1080), 0.3)


def study_with(limits: str) -> Study:
    return study_from_text(
        f"""
        scene = "x.toml"
        [[target]]
        name = "crate"
        node = "a"
        role = "primary"
        [[target]]
        name = "stairs.2"
        node = "b"
        role = "secondary"
        [[viewing]]
        name = "desk"
        diagonal_in = 24
        pixels = [1920, 1080]
        eye_distance_m = 0.6
        [[place]]
        name = "high tide"
        {limits}
        """,
        "made",
    )


def results_of(study: Study, *readings: dict[Path, Value]) -> list[Result]:
    """Takes at one place after another, all seen on the desk."""
    (variant,) = expand(study)
    places = [Place(name="here"), Place(name="high tide")]
    return [
        Result(variant, place, SETUP, Reading(values), (DESK,), "16:9")
        for place, values in zip(places, readings, strict=False)
    ]


def verdict_on(limits: str, *readings: dict[Path, Value]) -> Verdict:
    study = study_with(limits)
    verdict = judge(results_of(study, *readings), study)
    assert verdict is not None
    return verdict


SEEN = '[[limit]]\nreading = "targets.*.seen"\nmin = 0.8'


def test_a_min_margin_is_the_signed_distance_over_the_limit():
    verdict = verdict_on(SEEN, {("targets", "crate", "seen"): 0.6, ("targets", "stairs.2", "seen"): 1.0})
    assert not verdict.holds
    assert verdict.score == pytest.approx((0.6 - 0.8) / 0.8)
    assert [f.reading for f in verdict.failed] == ["targets.crate.seen"]


def test_a_limit_means_no_other_reading_of_the_same_target():
    values: dict[Path, Value] = {
        ("targets", "crate", "seen"): 1.0,
        ("targets", "crate", "off_picture"): None,
        ("targets", "crate", "in_frame"): 0.1,
    }
    assert verdict_on(SEEN, values).holds


def test_a_dot_in_a_name_is_found_by_name():
    limit = '[[limit]]\nreading = "targets.stairs.2.seen"\nmin = 0.5'
    verdict = verdict_on(limit, {("targets", "stairs.2", "seen"): 0.4, ("targets", "crate", "seen"): 0.0})
    assert [f.path for f in verdict.failed] == [("targets", "stairs.2", "seen")]


def test_the_worst_place_decides():
    verdict = verdict_on(SEEN, {("targets", "crate", "seen"): 1.0}, {("targets", "crate", "seen"): 0.4})
    assert verdict.binds is not None
    assert (verdict.binds.place, verdict.score) == ("high tide", pytest.approx(-0.5))


def test_a_null_fails_a_must_unless_it_is_to_be_skipped():
    values: dict[Path, Value] = {("targets", "crate", "seen"): None}
    assert verdict_on(SEEN, values).score == -1.0
    assert verdict_on(SEEN + '\nif_absent = "skip"', values).holds


def test_a_null_size_fails_a_limit_on_one_viewing():
    limit = '[[limit]]\nreading = "targets.*.piece_arcmin.desk"\nmin = 16'
    assert not verdict_on(limit, {("targets", "crate", "piece_arcmin"): None}).holds


def test_a_limit_without_a_viewing_means_every_viewing():
    limit = '[[limit]]\nreading = "targets.*.piece_arcmin"\nmin = 16'
    verdict = verdict_on(limit, {("targets", "crate", "piece_arcmin", "desk"): 12.0})
    assert verdict.failed[0].viewing == "desk"


def test_words_are_judged_by_not_and_one_of():
    limit = '[[limit]]\nreading = "gaps.*.verdict"\nnot = "lies"'
    assert not verdict_on(limit, {("gaps", "hop", "verdict"): "lies"}).holds
    assert verdict_on(limit, {("gaps", "hop", "verdict"): "sure"}).score == 1.0
    limit = '[[limit]]\nreading = "gaps.*.verdict"\none_of = ["sure", "needs a cue"]'
    assert not verdict_on(limit, {("gaps", "hop", "verdict"): "close call"}).holds


def test_a_should_is_told_and_changes_nothing():
    verdict = verdict_on(SEEN + '\nlevel = "should"', {("targets", "crate", "seen"): 0.1})
    assert verdict.holds
    assert [f.reading for f in verdict.told] == ["targets.crate.seen"]


def test_a_limit_of_one_role_leaves_the_others():
    verdict = verdict_on(SEEN + '\nrole = "primary"', {("targets", "stairs.2", "seen"): 0.0})
    assert verdict.holds


def test_a_limit_of_one_role_counts_twins_and_cues_of_its_targets_too():
    words = '\nmin = 1\nrole = "primary"'
    for path in (("twins", "{}", "slide", "shift_m"), ("cues", "target:{}", "occlusion", "value")):
        limit = f'[[limit]]\nreading = "{path[0]}.*.{path[2]}.{path[3]}"{words}'
        for name, holds in (("crate", False), ("stairs.2", True)):
            found = (path[0], path[1].format(name), *path[2:])
            assert verdict_on(limit, {found: 0.5}).holds is holds


def test_a_limit_of_one_viewing_counts_what_its_picture_shows():
    # `seen` is the picture's, and the desk sees this picture; the size is told for each viewing.
    seen: dict[Path, Value] = {("targets", "crate", "seen"): 0.4}
    assert not verdict_on(SEEN + '\nviewing = "desk"', seen).holds
    assert verdict_on(SEEN + '\nviewing = "couch"', seen).holds
    limit = '[[limit]]\nreading = "targets.*.size_px"\nmin = 10\nviewing = "couch"'
    assert verdict_on(limit, {("targets", "crate", "size_px", "desk"): (1.0, 1.0)}).holds
    limit = '[[limit]]\nreading = "viewing.*.hfov_deg"\nmin = 60\nviewing = "desk"'
    assert not verdict_on(limit, {("viewing", "desk", "hfov_deg"): 50.0}).holds


def test_a_pair_of_numbers_is_judged_by_its_worse_one():
    limit = '[[limit]]\nreading = "targets.*.size_px"\nmin = 10'
    assert not verdict_on(limit, {("targets", "crate", "size_px", "desk"): (40.0, 8.0)}).holds


def test_bounding_a_word_by_min_is_refused():
    limit = '[[limit]]\nreading = "gaps.*.verdict"\nmin = 1'
    with pytest.raises(StudyWrong, match="min and max cannot bound"):
        verdict_on(limit, {("gaps", "hop", "verdict"): "sure"})


def test_a_list_is_bounded_by_how_many_it_holds():
    limit = '[[limit]]\nreading = "false_contacts"\nmax = 0'
    group = {"a": "U", "b": "V", "level_m": 5.196}
    none, two = ({("false_contacts",): value} for value in ((), (group, group)))
    assert verdict_on(limit, none, none).holds is True
    verdict = verdict_on(limit, none, two)
    assert (verdict.holds, verdict.score) == (False, -2.0)
    assert verdict.failed[0].value == 2


@pytest.mark.parametrize(
    "reading", ["targets.cra*.seen", "*.seen", "targets.door.seen", "targets.crate.sean"]
)
def test_a_must_that_finds_nothing_to_judge_is_an_error_and_never_a_pass(reading: str) -> None:
    limit = f'[[limit]]\nreading = "{reading}"\nmin = 0.8\n'
    seen: dict[Path, Value] = {("targets", "crate", "seen"): 0.1}
    study = study_with(limit)
    with pytest.raises(StudyWrong, match="finds nothing to judge"):
        judge_all(results_of(study, seen), study)
    told = study_with(limit + 'level = "should"')
    assert judge_all(results_of(told, seen), told)["A1"].told == ()


def test_a_star_for_the_group_finds_what_it_means() -> None:
    limit = '[[limit]]\nreading = "*.crate.seen"\nmin = 0.9\n'
    assert not verdict_on(limit, {("targets", "crate", "seen"): 0.17}).holds


def test_a_limit_at_a_place_that_is_not_judged_is_no_error_there() -> None:
    study = study_with(SEEN + '\nplace = "high tide"')
    results = results_of(study, {("targets", "crate", "seen"): 0.1})
    assert judge_all(results, study)["A1"].binds is None


def two_pictures(seen_on_desk: float, seen_on_phone: float) -> Verdict:
    """One variant at one place on a desk's screen and on a phone's of another shape."""
    study = study_with(SEEN)
    (result,) = results_of(study, {("targets", "crate", "seen"): seen_on_desk})
    wide = Reading({("targets", "crate", "seen"): seen_on_phone})
    other = replace(result, reading=wide, seats=(PHONE,), picture_shape="20:9")
    verdict = judge([result, other], study)
    assert verdict is not None
    return verdict


def test_a_failure_that_is_the_same_in_every_picture_is_told_once() -> None:
    assert [(f.value, f.viewing) for f in two_pictures(0.4, 0.4).failed] == [(0.4, None)]


def test_failures_that_differ_between_pictures_name_the_viewing_of_each() -> None:
    found = [(f.value, f.viewing) for f in two_pictures(0.4, 0.2).failed]
    assert found == [(0.2, "phone"), (0.4, "desk")]


def test_a_viewing_is_known_by_its_place_in_the_path_and_not_by_its_name() -> None:
    study = study_with(SEEN)
    (result,) = results_of(study, {("targets", "crate", "seen"): 0.4})
    verdict = judge([replace(result, seats=(replace(DESK, name="seen"),))], study)
    assert verdict is not None
    assert [f.viewing for f in verdict.failed] == [None]


def test_ground_to_the_horizon_is_beyond_every_number() -> None:
    values: dict[Path, Value] = {("framing", "ground_far_m"): "horizon"}
    limit = '[[limit]]\nreading = "framing.ground_far_m"\n'
    assert verdict_on(limit + "min = 40", values).score == 1.0
    assert verdict_on(limit + "max = 40", values).score == -1.0


def test_an_angle_that_is_null_beside_its_side_fails_as_a_null() -> None:
    values: dict[Path, Value] = {("targets", "crate", "off_picture"): ("left", None)}
    limit = '[[limit]]\nreading = "targets.*.off_picture"\nmax = 10\n'
    assert verdict_on(limit, values).score == -1.0
    assert verdict_on(limit + 'if_absent = "skip"', values).binds is None


def test_numbers_are_judged_as_the_record_has_them() -> None:
    values: dict[Path, Value] = {("axes", "x", "px_per_m"): 108.00000000000001}
    assert verdict_on('[[limit]]\nreading = "axes.x.px_per_m"\nis = 108', values).holds
    # three decimals are recorded: 107.9996 is 108, 107.9994 is 107.999
    limit = '[[limit]]\nreading = "axes.x.px_per_m"\nmin = 108'
    assert verdict_on(limit, {("axes", "x", "px_per_m"): 107.9996}).holds
    assert not verdict_on(limit, {("axes", "x", "px_per_m"): 107.9994}).holds
