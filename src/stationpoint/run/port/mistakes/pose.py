"""Mistakes of the pose: signs and units of angles, what they count from, the offset."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import degrees, radians

import numpy as np

from stationpoint.base.errors import StudyWrong
from stationpoint.camera import Lens, pose_of, turned_by, view_from, yaw_pitch_roll
from stationpoint.record import HandedBack
from stationpoint.run.port.mistakes.trial import POSE, Mistake, Points, Trial
from stationpoint.study import CameraFields


def pose_mistakes(handed: HandedBack) -> Iterator[Mistake]:
    """The eye placed, or turned, otherwise."""
    view, eye = handed.camera.view, handed.camera.eye_m
    yaw, pitch, roll = yaw_pitch_roll(view[:3, :3])

    def turned(name: str, says: str, angles: tuple[float, float, float], common: bool = True) -> Mistake:
        """The eye stays, and looks another way."""
        new = view_from(eye, turned_by(*angles))
        return Mistake(name, says, POSE, lambda trial: replace(trial, view=new), common)

    yield from _booms(handed)
    yield turned(
        "pitch sign",
        "pitch has the wrong sign: the camera looks up where it should look down",
        (yaw, -pitch, roll),
    )
    yield turned(
        "yaw sign", "yaw has the wrong sign: the camera turns to the other side", (-yaw, pitch, roll)
    )
    yield turned("yaw and pitch sign", "yaw and pitch have the wrong sign", (-yaw, -pitch, roll), False)
    yield turned("roll sign", "roll has the wrong sign", (yaw, pitch, -roll))
    yield turned("roll forgotten", "roll is forgotten", (yaw, pitch, 0.0))
    for by in (90.0, -90.0, 180.0):
        says = f"yaw counts from another direction: it is {abs(by):g} degrees off"
        yield turned("yaw from elsewhere", says, (yaw + by, pitch, roll), False)
    by_degrees = (degrees(yaw), degrees(pitch), degrees(roll))
    yield turned(
        "degrees for radians in the pose",
        "the camera's angles are in degrees where radians are asked for",
        by_degrees,
    )
    by_radians = (radians(yaw), radians(pitch), radians(roll))
    yield turned(
        "radians for degrees in the pose",
        "the camera's angles are in radians where degrees are asked for",
        by_radians,
    )


def _booms(handed: HandedBack) -> Iterator[Mistake]:
    """The eye is placed from the anchor, by angles or an offset that are wrong."""
    boom = handed.boom
    if boom is None:
        return
    anchor, distance, by, (x, y) = boom.anchor_m, boom.distance_m, boom.offset_by, boom.offset
    yaw, pitch, roll = boom.yaw_deg, boom.pitch_deg, boom.roll_deg
    up = np.array([0.0, boom.anchor_over_foot_m, 0.0])
    p = handed.camera.projection
    lens = Lens(None, 2.0 / p[0, 0]) if handed.camera.parallel else Lens(p[0, 0] / 2.0, None)

    def of(
        name: str,
        says: str,
        angles: tuple[float, float, float] = (yaw, pitch, roll),
        offset: tuple[float, float] = (x, y),
        at: Points = anchor,
        offset_by: str = by,
        common: bool = True,
    ) -> Iterator[Mistake]:
        fields = CameraFields.model_construct(
            yaw_deg=angles[0], pitch_deg=angles[1], roll_deg=angles[2], offset=offset, offset_by=offset_by
        )
        try:
            view, shift = pose_of(fields, lens, handed.aspect, at, distance)
        except StudyWrong:  # no such camera, so nobody draws with it
            return
        changes = offset_by != by

        def alters(trial: Trial) -> Trial:
            if not changes:
                return replace(trial, view=view)
            new = trial.projection.copy()
            was = np.array((x, y)) if by == "shift" else np.zeros(2)
            if handed.camera.parallel:
                new[:2, 3] += 2 * (np.array(shift) - was)
            else:
                new[:2, 2] -= 2 * (np.array(shift) - was)
            return replace(trial, view=view, projection=new)

        yield Mistake(name, says, POSE, alters, common)

    under = "pitch has the wrong sign: the camera stands below the anchor where it should stand above"
    yield from of("pitch sign", under, (yaw, -pitch, roll))
    yield from of(
        "yaw sign", "yaw has the wrong sign: the camera stands on the other side", (-yaw, pitch, roll)
    )
    yield from of(
        "yaw and pitch sign", "yaw and pitch have the wrong sign", (-yaw, -pitch, roll), common=False
    )
    for turn in (90.0, -90.0, 180.0):
        says = f"yaw counts from another direction: it is {abs(turn):g} degrees off"
        yield from of("yaw from elsewhere", says, (yaw + turn, pitch, roll), common=False)
    wrong = (degrees(yaw), degrees(pitch), degrees(roll))
    yield from of(
        "degrees for radians in the pose", "yaw and pitch are in degrees where radians are asked for", wrong
    )
    wrong = (radians(yaw), radians(pitch), radians(roll))
    yield from of(
        "radians for degrees in the pose", "yaw and pitch are in radians where degrees are asked for", wrong
    )
    if up.any():
        yield from of(
            "anchor height forgotten",
            "the camera is aimed at the foot: the anchor's height is forgotten",
            at=anchor - up,
        )
        yield from of(
            "anchor height twice", "the anchor's height is added twice", at=anchor + up, common=False
        )
    if x or y:
        if by != "shift":
            yield from of("offset forgotten", "the offset is forgotten", offset=(0.0, 0.0))
            for sign_x, sign_y in ((-1, -1), (-1, 1), (1, -1)):
                if (x or sign_x > 0) and (y or sign_y > 0):
                    which = "x and y" if sign_x == sign_y else "x" if sign_x < 0 else "y"
                    yield from of(
                        "offset sign",
                        f"the offset has the wrong sign in {which}",
                        offset=(sign_x * x, sign_y * y),
                    )
        made = {"slide": "moving the camera", "turn": "turning the camera", "shift": "shifting the lens"}
        for other in sorted({"slide", "turn", "shift"} - {by}):
            says = f"the offset is made by {made[other]}, not by {made[by]}"
            yield from of("offset made otherwise", says, offset_by=other)
