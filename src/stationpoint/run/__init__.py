"""The pipeline in order: a study made ready, its cases drawn and read, whole sheets."""

from __future__ import annotations

from stationpoint.run.cache import Cache, level_key
from stationpoint.run.cases import file_camera, own_setup
from stationpoint.run.formats import DRAWING, FORMATS, PNG, RECORD, STUDY, check_format, drawn_files, files_of
from stationpoint.run.levels import (
    Level,
    judged_again,
    judged_level,
    kept_judged,
    told_studies,
    worst_picture,
)
from stationpoint.run.meaning import landed_node
from stationpoint.run.prepare import Prepared, camera_words, prepare_study
from stationpoint.run.sheet import (
    Drawing,
    How,
    Made,
    chosen_variants,
    draw_sheet,
    drawing_from,
    known_mark_names,
)
from stationpoint.run.sweep import (
    Wants,
    cases_to_draw,
    must_draw,
    only_asked,
    record_of,
    sweep_variants,
    verdicts_on,
)
from stationpoint.run.twin_sheet import draw_twin_sheet
from stationpoint.run.warnings import not_set, warnings_of

__all__ = [
    "DRAWING",
    "FORMATS",
    "PNG",
    "RECORD",
    "STUDY",
    "Cache",
    "Drawing",
    "How",
    "Level",
    "Made",
    "Prepared",
    "Wants",
    "camera_words",
    "cases_to_draw",
    "check_format",
    "chosen_variants",
    "draw_sheet",
    "draw_twin_sheet",
    "drawing_from",
    "drawn_files",
    "file_camera",
    "files_of",
    "judged_again",
    "judged_level",
    "kept_judged",
    "known_mark_names",
    "landed_node",
    "level_key",
    "must_draw",
    "not_set",
    "only_asked",
    "own_setup",
    "prepare_study",
    "record_of",
    "sweep_variants",
    "told_studies",
    "verdicts_on",
    "warnings_of",
    "worst_picture",
]
