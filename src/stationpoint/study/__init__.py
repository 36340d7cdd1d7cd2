"""Studies: the study file, its complaints, its sweep."""

from __future__ import annotations

from typing import TYPE_CHECKING

from stationpoint.base.doors import late

if TYPE_CHECKING:
    from stationpoint.study.axes import ALL_IN_FRAME, AXES, LIGHT, NAMED
    from stationpoint.study.camera_keys import FILE_FIELDS, POSE_FIELDS, CameraFields, aspect_ratio
    from stationpoint.study.cameras import SweptCamera, pools, swept_cameras
    from stationpoint.study.check import check_study, no_node
    from stationpoint.study.decision import (
        Decision,
        decided,
        key_complaints,
        note_on,
        unknown_keys,
        with_decision,
    )
    from stationpoint.study.file import (
        READ_SUFFIXES,
        camera_file,
        meant_file,
        read_study,
        read_text,
        study_digest,
        study_from_text,
        what_is,
    )
    from stationpoint.study.first.kinds import kind_study, kind_text
    from stationpoint.study.first.lone import is_lone, lone_study
    from stationpoint.study.first.study import Asks, default_study, start_text, subject_height_m
    from stationpoint.study.include import CameraFile
    from stationpoint.study.models import (
        HERE,
        Gap,
        Limit,
        Place,
        Reserved,
        Study,
        Subject,
        Sweep,
        Target,
        Viewing,
    )
    from stationpoint.study.naming import (
        anchor_over_foot_m,
        body_height_m,
        cover_name,
        gap_name,
        mark_m,
        target_name,
        target_nodes,
        target_patterns,
    )
    from stationpoint.study.notes import Review, merge_notes, read_review, with_notes
    from stationpoint.study.options import OptionEnd, Options
    from stationpoint.study.spots import FLOOR, TOP, read_spots
    from stationpoint.study.sweep import HELD_FIELDS, Variant, at_options, expand, replaced, with_every_name
    from stationpoint.study.toml import study_text, toml_value
    from stationpoint.study.vary import Varied, limit_from_words, ranges_to_vary, with_settings

LATE = {
    "axes": "ALL_IN_FRAME AXES LIGHT NAMED",
    "camera_keys": "FILE_FIELDS POSE_FIELDS CameraFields aspect_ratio",
    "cameras": "SweptCamera pools swept_cameras",
    "check": "check_study no_node",
    "decision": "Decision decided key_complaints note_on unknown_keys with_decision",
    "file": "READ_SUFFIXES camera_file meant_file read_study read_text study_digest study_from_text what_is",
    "first.kinds": "kind_study kind_text",
    "first.lone": "is_lone lone_study",
    "first.study": "Asks default_study start_text subject_height_m",
    "include": "CameraFile",
    "models": "HERE Gap Limit Place Reserved Study Subject Sweep Target Viewing",
    "naming": "anchor_over_foot_m body_height_m cover_name gap_name mark_m target_name target_nodes "
    "target_patterns",
    "notes": "Review merge_notes read_review with_notes",
    "options": "OptionEnd Options",
    "spots": "FLOOR TOP read_spots",
    "sweep": "HELD_FIELDS Variant at_options expand replaced with_every_name",
    "toml": "study_text toml_value",
    "vary": "Varied limit_from_words ranges_to_vary with_settings",
}
__getattr__ = late(__name__, LATE)

__all__ = [
    "ALL_IN_FRAME",
    "AXES",
    "FILE_FIELDS",
    "FLOOR",
    "HELD_FIELDS",
    "HERE",
    "LIGHT",
    "NAMED",
    "POSE_FIELDS",
    "READ_SUFFIXES",
    "TOP",
    "Asks",
    "CameraFields",
    "CameraFile",
    "Decision",
    "Gap",
    "Limit",
    "OptionEnd",
    "Options",
    "Place",
    "Reserved",
    "Review",
    "Study",
    "Subject",
    "Sweep",
    "SweptCamera",
    "Target",
    "Variant",
    "Varied",
    "Viewing",
    "anchor_over_foot_m",
    "aspect_ratio",
    "at_options",
    "body_height_m",
    "camera_file",
    "check_study",
    "cover_name",
    "decided",
    "default_study",
    "expand",
    "gap_name",
    "is_lone",
    "key_complaints",
    "kind_study",
    "kind_text",
    "limit_from_words",
    "lone_study",
    "mark_m",
    "meant_file",
    "merge_notes",
    "no_node",
    "note_on",
    "pools",
    "ranges_to_vary",
    "read_review",
    "read_spots",
    "read_study",
    "read_text",
    "replaced",
    "start_text",
    "study_digest",
    "study_from_text",
    "study_text",
    "subject_height_m",
    "swept_cameras",
    "target_name",
    "target_nodes",
    "target_patterns",
    "toml_value",
    "unknown_keys",
    "what_is",
    "with_decision",
    "with_every_name",
    "with_notes",
    "with_settings",
]
