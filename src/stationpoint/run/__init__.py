"""The pipeline in order: a study made ready, its cases drawn and read, whole sheets.

What few calls need is loaded when it is asked for.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from stationpoint.base.doors import late
from stationpoint.run.cases import file_camera, own_setup
from stationpoint.run.endings import DRAWING, FORMATS, PNG, RECORD, STUDY, check_format, files_of
from stationpoint.run.gathered import Gathered
from stationpoint.run.meaning import landed_node
from stationpoint.run.prepare import Prepared, camera_words, prepare_study
from stationpoint.run.recorded import record_of, verdicts_on
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
    groups_of,
    must_draw,
    only_asked,
    only_judged,
    sweep_batches,
    sweep_variants,
)
from stationpoint.run.warnings import not_set, warnings_of
from stationpoint.run.workers.processes import Standby

if TYPE_CHECKING:
    from stationpoint.run.cache import Cache, level_key
    from stationpoint.run.compare.differences import (
        GROUPS_COMPARED,
        Comparison,
        Scope,
        bounded_names,
        compare_records,
        read_tolerances,
    )
    from stationpoint.run.compare.page import draw_changes
    from stationpoint.run.compare.pictures import draw_comparison
    from stationpoint.run.compare.words import answer_of, change_lines, comparison_data, lines_by_variant
    from stationpoint.run.compare.worse import worse_changes
    from stationpoint.run.formats import drawn_files
    from stationpoint.run.levels import (
        Level,
        judged_again,
        judged_level,
        kept_judged,
        told_studies,
        worst_picture,
    )
    from stationpoint.run.port.check import check_seen
    from stationpoint.run.port.files import cameras_file
    from stationpoint.run.port.handed import handed_variants
    from stationpoint.run.review.draw import MadeReview, draw_review
    from stationpoint.run.review.redrawn import Due, Redrawing, Redrawn
    from stationpoint.run.solve.solve import (
        Solved,
        labels_of,
        margin_map,
        musts_of,
        needed_readings,
        prepared_for,
        solve_study,
        with_solve,
        with_spots,
    )
    from stationpoint.run.twin_sheet import draw_twin_sheet
    from stationpoint.run.warm import Stamp, Warm, stamp

LATE = {
    "cache": "Cache level_key",
    "compare.differences": "GROUPS_COMPARED Comparison Scope bounded_names compare_records read_tolerances",
    "compare.page": "draw_changes",
    "compare.pictures": "draw_comparison",
    "compare.words": "answer_of change_lines comparison_data lines_by_variant",
    "compare.worse": "worse_changes",
    "formats": "drawn_files",
    "levels": "Level judged_again judged_level kept_judged told_studies worst_picture",
    "port.check": "check_seen",
    "port.files": "cameras_file",
    "port.handed": "handed_variants",
    "review.draw": "MadeReview draw_review",
    "review.redrawn": "Due Redrawing Redrawn",
    "solve.solve": "Solved labels_of margin_map musts_of needed_readings prepared_for solve_study with_solve "
    "with_spots",
    "twin_sheet": "draw_twin_sheet",
    "warm": "Stamp Warm stamp",
}
__getattr__ = late(__name__, LATE)

__all__ = [
    "DRAWING",
    "FORMATS",
    "GROUPS_COMPARED",
    "PNG",
    "RECORD",
    "STUDY",
    "Cache",
    "Comparison",
    "Drawing",
    "Due",
    "Gathered",
    "How",
    "Level",
    "Made",
    "MadeReview",
    "Prepared",
    "Redrawing",
    "Redrawn",
    "Scope",
    "Solved",
    "Stamp",
    "Standby",
    "Wants",
    "Warm",
    "answer_of",
    "bounded_names",
    "camera_words",
    "cameras_file",
    "cases_to_draw",
    "change_lines",
    "check_format",
    "check_seen",
    "chosen_variants",
    "compare_records",
    "comparison_data",
    "draw_changes",
    "draw_comparison",
    "draw_review",
    "draw_sheet",
    "draw_twin_sheet",
    "drawing_from",
    "drawn_files",
    "file_camera",
    "files_of",
    "groups_of",
    "handed_variants",
    "judged_again",
    "judged_level",
    "kept_judged",
    "known_mark_names",
    "labels_of",
    "landed_node",
    "level_key",
    "lines_by_variant",
    "margin_map",
    "must_draw",
    "musts_of",
    "needed_readings",
    "not_set",
    "only_asked",
    "only_judged",
    "own_setup",
    "prepare_study",
    "prepared_for",
    "read_tolerances",
    "record_of",
    "solve_study",
    "stamp",
    "sweep_batches",
    "sweep_variants",
    "told_studies",
    "verdicts_on",
    "warnings_of",
    "with_solve",
    "with_spots",
    "worse_changes",
    "worst_picture",
]
