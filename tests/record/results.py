"""Takes of two variants with hand-written readings, for the tests of records."""

from __future__ import annotations

import numpy as np

from stationpoint.camera.camera import Camera
from stationpoint.camera.shot import Setup
from stationpoint.readings.types import Field, Reading, Result
from stationpoint.study.models import CameraFields, Place
from stationpoint.study.sweep import Variant

FIELDS = (
    Field(("targets", "*", "screen_xy"), "", 7, "Projected centre.", null="behind the eye"),
    Field(("targets", "*", "seen"), "", 5, "Share of its silhouette that is seen."),
    Field(("targets", "*", "hidden_by"), "", 5, "Share that each node hides."),
    Field(("targets", "*", "size_px", "*"), "px", 3, "Width and height."),
    Field(("gaps", "*", "true_span_m"), "m", 5, "Straight, in space."),
    Field(("gaps", "*", "flat_span_m"), "m", 5, "Read flat."),
    Field(("gaps", "*", "verdict"), "", 0, "What an eye would say."),
    Field(("false_contacts",), "", 5, "Surfaces that seem to touch."),
    Field(("framing", "horizon_y"), "", 7, "The horizon's row.", null="a parallel view has none"),
    Field(("viewing", "*", "picture_pixels"), "px", 0, "Of the picture."),
)


def result(label: str, focal_mm: float, values: dict, place: str = "here") -> Result:
    """One result; the camera's matrices carry a third and a minus zero."""
    view, projection = np.eye(4), np.eye(4)
    view[0, 3], view[1, 2], projection[3, 2], projection[0, 0] = 1 / 3, -0.0, -1.0, 2 * focal_mm / 36
    camera = Camera(view, projection, (544, 306), "perspective", 0.1, 100.0)
    setup = Setup(
        camera=camera,
        projection="perspective",
        focal_mm=focal_mm,
        hfov_deg=54.432223,
        vfov_deg=32.269,
        dfov_deg=61.09,
        view_height_m=None,
        distance_m=8.0,
        pitch_deg=20.0,
        yaw_deg=-0.0,
        roll_deg=0.0,
        offset=(0.0, 0.0),
        offset_by=None,
        aspect=16 / 9,
        aspect_words="16:9",
        pixels=(1920, 1080),
        anchor_m=(4.2, 0.8, -3.0),
    )
    fields = CameraFields(focal_mm=focal_mm)
    variant = Variant(label, f"{round(focal_mm):06x}", 0, 0, 0, (("focal_mm", focal_mm),), fields, fields)
    return Result(variant, Place(name=place), setup, Reading(values), (), "16:9")


def values(name: str = "barge three") -> dict:
    """Readings of every kind of value; `name` is the target's."""
    return {
        ("targets", name, "screen_xy"): (0.5, np.float64(0.29551851999)),
        ("targets", name, "seen"): 0.5,
        ("targets", name, "hidden_by"): {"crate, left": 0.123456789, "hopper": 0.25},
        ("targets", name, "size_px", "couch"): (93.3333333, 120.0),
        ("gaps", "two to three", "true_span_m"): 4.1,
        ("gaps", "two to three", "flat_span_m"): 0.94654321,
        ("gaps", "two to three", "verdict"): "needs a cue",
        ("false_contacts",): ({"a": "roof U", "b": "roof V", "flat_m": -0.0},),
        ("framing", "horizon_y"): None,
        ("viewing", "couch", "picture_pixels"): (1920.0, 1080.0),
    }
