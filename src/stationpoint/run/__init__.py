"""The pipeline in order: a study made ready, its cases drawn and read, whole sheets."""

from __future__ import annotations

from stationpoint.run.cases import file_camera, own_setup
from stationpoint.run.compare.differences import (
    GROUPS_COMPARED,
    Comparison,
    Scope,
    bounded_names,
    compare_records,
    read_tolerances,
)
from stationpoint.run.compare.pictures import draw_comparison
from stationpoint.run.compare.words import answer_of, change_lines, comparison_data, lines_by_variant
from stationpoint.run.compare.worse import worse_changes
from stationpoint.run.meaning import landed_node
from stationpoint.run.prepare import Prepared, camera_words, prepare_study
from stationpoint.run.sheet import (
    DRAWING,
    RECORD,
    STUDY,
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
    "GROUPS_COMPARED",
    "RECORD",
    "STUDY",
    "Comparison",
    "Drawing",
    "How",
    "Made",
    "Prepared",
    "Scope",
    "Wants",
    "answer_of",
    "bounded_names",
    "camera_words",
    "cases_to_draw",
    "change_lines",
    "chosen_variants",
    "compare_records",
    "comparison_data",
    "draw_comparison",
    "draw_sheet",
    "draw_twin_sheet",
    "drawing_from",
    "file_camera",
    "known_mark_names",
    "landed_node",
    "lines_by_variant",
    "must_draw",
    "not_set",
    "only_asked",
    "own_setup",
    "prepare_study",
    "read_tolerances",
    "record_of",
    "sweep_variants",
    "verdicts_on",
    "warnings_of",
    "worse_changes",
]
