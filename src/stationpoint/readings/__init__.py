"""Readings: numbers from a case and its frames, and what the brief says of them.

A reading says with Shots what it must see, gets the Frames, and never calls a renderer.
"""

from __future__ import annotations

from stationpoint.readings.boom import probe_radius_m, pulled, pulled_to_m
from stationpoint.readings.colours.frame import UNCOLOURED, colour_shots
from stationpoint.readings.colours.prominence import glance_spots
from stationpoint.readings.colours.saliency import degree_px, glance_blurred
from stationpoint.readings.contacts.reach import UNTOLD_REACH_M
from stationpoint.readings.cues.rules import CUE_RULES, CueRule, told_words
from stationpoint.readings.frames.hidden import hidden_ids, outline_shots
from stationpoint.readings.frames.shots import MAIN
from stationpoint.readings.kinds import (
    FIELDS,
    GROUPS,
    asked,
    asked_fields,
    measures_colours,
    needs_shots,
    read,
    wanted,
)
from stationpoint.readings.paths import Fields, field_at, fields_of, kinds_of, meant, paths_meant, viewing_of
from stationpoint.readings.targets.safe_areas import FLAGGED_COVER
from stationpoint.readings.things.ends import ends
from stationpoint.readings.things.reach import has_reach
from stationpoint.readings.things.things import body_m, target_object
from stationpoint.readings.twins.place import carried_nodes, twin_group, twin_of
from stationpoint.readings.twins.twins import twin_moves
from stationpoint.readings.types import SHARE, Case, Field, Path, Result, Value, without_readings
from stationpoint.readings.verdict.cameras import CameraVerdict, judge_cameras
from stationpoint.readings.verdict.judge import Finding, Judging, Verdict, is_at, judge_all, margin
from stationpoint.readings.verdict.level import wrong_words
from stationpoint.readings.verdict.limits import (
    ASSUMED,
    LEAST_SUBJECT_SEEN,
    bounded,
    bounded_paths,
    limit_complaints,
    limit_notes,
    with_assumed,
    without_assumed,
)
from stationpoint.readings.verdict.words import (
    about_reading,
    amount_words,
    bounded_meanings,
    bounds_of,
    brief_words,
    cause_words,
    finding_words,
    measured_words,
    unit_words,
    whose_words,
)

__all__ = [
    "ASSUMED",
    "CUE_RULES",
    "FIELDS",
    "FLAGGED_COVER",
    "GROUPS",
    "LEAST_SUBJECT_SEEN",
    "MAIN",
    "SHARE",
    "UNCOLOURED",
    "UNTOLD_REACH_M",
    "CameraVerdict",
    "Case",
    "CueRule",
    "Field",
    "Fields",
    "Finding",
    "Judging",
    "Path",
    "Result",
    "Value",
    "Verdict",
    "about_reading",
    "amount_words",
    "asked",
    "asked_fields",
    "body_m",
    "bounded",
    "bounded_meanings",
    "bounded_paths",
    "bounds_of",
    "brief_words",
    "carried_nodes",
    "cause_words",
    "colour_shots",
    "degree_px",
    "ends",
    "field_at",
    "fields_of",
    "finding_words",
    "glance_blurred",
    "glance_spots",
    "has_reach",
    "hidden_ids",
    "is_at",
    "judge_all",
    "judge_cameras",
    "kinds_of",
    "limit_complaints",
    "limit_notes",
    "margin",
    "meant",
    "measured_words",
    "measures_colours",
    "needs_shots",
    "outline_shots",
    "paths_meant",
    "probe_radius_m",
    "pulled",
    "pulled_to_m",
    "read",
    "target_object",
    "told_words",
    "twin_group",
    "twin_moves",
    "twin_of",
    "unit_words",
    "viewing_of",
    "wanted",
    "whose_words",
    "with_assumed",
    "without_assumed",
    "without_readings",
    "wrong_words",
]
