"""A port's pixels held against what was handed off: within how many they agree, or what was mistaken."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.errors import StudyWrong
from stationpoint.base.words import counted
from stationpoint.record import HandedBack, Seen
from stationpoint.run.port.mistakes import mistakes_of, pairs_of
from stationpoint.run.port.mistakes.trial import (
    LENS,
    PICTURE,
    Mistake,
    Trial,
    drawn_depth,
    drawn_px,
    right_trial,
)
from stationpoint.run.port.mistakes.world import UNITS

Points = NDArray[np.float64]

LEAST_POINTS = 4  # fewer can be met by chance
ALIKE_PX = 0.02  # of two mistakes that fit so nearly alike neither is the better
TIMES_BEST = 3.0
FRACTIONS = 4.0  # pixels up to this are none, but fractions
FAR_OUT = 2.0  # widths of the picture, from where a share of the number counts
DEPTH_SHARE = 1e-3  # of a length
CLIP_STEP = 2e-4  # of depth after the divide
CLIPS = {
    ("-1..1", False): (1.0, 0.0),
    ("-1..1", True): (-1.0, 0.0),
    ("0..1", False): (0.5, 0.5),
    ("0..1", True): (-0.5, 0.5),
}


@dataclass(frozen=True, slots=True)
class Fit:
    """A mistake that explains pixels: its name, in words, and what is left, pixels."""

    name: str
    says: str
    left_px: float


@dataclass(frozen=True, slots=True)
class Checked:
    """One variant's port. off_px: the farthest that a point is off, worst: which one, points: of how many.
    fits: mistakes that explain it, as well as each other. depth: what is wrong of depth, in words; ""
    if nothing is, None where it was not given or cannot be said."""

    label: str
    off_px: float
    worst: str
    points: int
    agrees: bool
    fits: tuple[Fit, ...]
    depth: str | None

    @property
    def is_right(self) -> bool:
        """Whether pixels agree, and depth as far as it was given."""
        return self.agrees and not self.depth

    @property
    def says(self) -> str:
        """All of it in a line."""
        many = counted(self.points, "point")
        if self.agrees:
            depth = (
                ""
                if self.depth is None
                else f", but not in depth: {self.depth}"
                if self.depth
                else ", in depth too"
            )
            return f"{self.label}: agrees within {_px(self.off_px)} at {many}{depth}."
        told = f"{self.label}: does not agree; {self.worst} is {_px(self.off_px)} off"
        if not self.fits:
            return f"{told}. No mistake that is known here explains it, nor any likely two."
        left = f"With that, all {many} fit within {_px(max(fit.left_px for fit in self.fits))}."
        also = f" Depth: {self.depth}." if self.depth else ""
        if len(self.fits) == 1:
            return f"{told}: {self.fits[0].says}. {left}{also}"
        several = "; or ".join(fit.says for fit in self.fits)
        return f"{told}. Mistakes that these points cannot tell apart: {several}. {left}{also}"


def check_seen(
    handed: Sequence[HandedBack], seen: Mapping[str, Seen], tolerance_px: float
) -> tuple[Checked, ...]:
    """Each variant that a port draws. StudyWrong where there are too few points of one."""
    found = [_checked(one, seen[one.label], tolerance_px) for one in handed if one.label in seen]
    if not found:
        raise StudyWrong("The table has no pixel of any check point; fill in x_px and y_px.")
    return _agreed(found)


def _agreed(found: Sequence[Checked]) -> tuple[Checked, ...]:
    """Of mistakes that one variant cannot tell apart, those that explain every variant that is off."""
    named = [{fit.name for fit in one.fits} for one in found if one.fits]
    common = set.intersection(*named) if named else set()
    if not common:
        return tuple(found)
    return tuple(
        Checked(
            *(one.label, one.off_px, one.worst, one.points, one.agrees),
            tuple(fit for fit in one.fits if fit.name in common),
            one.depth,
        )
        for one in found
    )


def _checked(handed: HandedBack, seen: Seen, tolerance_px: float) -> Checked:
    if len(seen.which) < LEAST_POINTS:
        raise StudyWrong(
            f"{handed.label}: the table has pixels of {counted(len(seen.which), 'point')}; "
            f"give {LEAST_POINTS} at least."
        )
    which = list(seen.which)
    points, meant = handed.points_m[which], handed.px[which]
    off = np.hypot(*(seen.px - meant).T)
    worst = int(np.argmax(off))
    agrees = bool(off[worst] <= tolerance_px)
    fits = () if agrees else _explained(handed, points, meant, seen.px, tolerance_px)
    trial = right_trial(handed) if agrees else fits[0][1] if fits and fits[0][2] in (PICTURE, LENS) else None
    depth = None if seen.depth is None or trial is None else _depth(handed, trial, points, seen.depth)
    return Checked(
        handed.label,
        float(off[worst]),
        handed.names[which[worst]],
        len(which),
        agrees,
        tuple(fit for fit, _, _ in fits),
        depth,
    )


Explained = tuple[tuple[Fit, Trial, str], ...]


def _explained(
    handed: HandedBack, points: Points, meant: Points, seen: Points, tolerance_px: float
) -> Explained:
    """The mistakes that fit best: single ones before what is fitted to the pixels, pairs last."""
    every = mistakes_of(handed)
    plain = [one for one in every if one.tells is None]
    fitted = [one for one in every if one.tells is not None]
    resized, *reshaped = fitted
    tiers: tuple[Iterable[Mistake], ...] = (
        plain,
        [resized],
        pairs_of(plain),
        pairs_of([*plain, resized]),
        *([one] for one in reshaped),
    )
    for tier in tiers:
        found = _fitting(tier, handed, points, meant, seen, tolerance_px)
        if found:
            return found
    return ()


def _fitting(
    mistakes: Iterable[Mistake],
    handed: HandedBack,
    points: Points,
    meant: Points,
    seen: Points,
    tolerance_px: float,
) -> Explained:
    """Those of the mistakes that draw what was seen, and not what was meant; each name once."""
    right = right_trial(handed)
    steps = _steps(seen, handed.camera.pixels)
    found: list[tuple[float, float, Mistake, Trial]] = []
    with np.errstate(all="ignore"):
        for mistake in mistakes:
            trial = mistake.alters(right)
            px = drawn_px(handed, trial, points, seen)
            left = np.hypot(*(px - seen).T)
            share = float(np.max(left / steps))
            differs = float(np.max(np.hypot(*(px - meant).T) / steps))
            if share <= tolerance_px and not differs <= tolerance_px:
                found.append((share, float(np.max(left)), mistake, trial))
    if not found:
        return ()
    best = min(share for share, _, _, _ in found)
    kept: dict[str, tuple[Fit, Trial, str]] = {}
    for share, left_px, mistake, trial in sorted(found, key=lambda one: one[0]):
        if share <= max(TIMES_BEST * best, ALIKE_PX) and mistake.name not in kept:
            says = _words(mistake, trial, handed, points, seen)
            kept[mistake.name] = (Fit(mistake.name, says, left_px), trial, mistake.stage)
    return tuple(kept.values())


def _steps(seen: Points, size: tuple[int, int]) -> Points:
    """How coarsely each point is to be judged, (n,), beside a pixel: far outside the picture numbers
    have no more digits than within; where a port gives fractions, a pixel is one of those."""
    largest = np.max(np.abs(seen), axis=1)
    if float(np.max(largest)) <= FRACTIONS:
        return np.full(len(seen), 1.0 / max(size))
    steps: Points = np.maximum(1.0, largest / (FAR_OUT * max(size)))
    return steps


def _words(mistake: Mistake, trial: Trial, handed: HandedBack, points: Points, seen: Points) -> str:
    if mistake.tells is None:
        return mistake.says
    px = drawn_px(handed, Trial(trial.world, trial.view, trial.projection), points, seen)
    return f"{mistake.says}: {mistake.tells(px, seen, handed.camera.pixels)}"


def _depth(handed: HandedBack, trial: Trial, points: Points, given: Points) -> str:
    """What is wrong of depth, in words; "" if nothing is."""
    convention = handed.convention
    along_m, after = drawn_depth(trial, points)
    along = along_m / convention.metres_per_unit
    asked = (convention.clip, convention.is_reversed)

    def is_length(values: Points) -> bool:
        return bool(np.all(np.abs(given - values) <= DEPTH_SHARE * np.maximum(np.abs(values), 1e-9)))

    def is_after(way: tuple[str, bool]) -> bool:
        scale, start = CLIPS[way]
        return bool(np.all(np.abs(given - (scale * after + start)) <= CLIP_STEP))

    if is_length(along) or is_after(asked):
        return ""
    for way in CLIPS:
        if is_after(way):
            said = []
            if way[0] != asked[0]:
                said.append(f"the clip range is {way[0]}, not {asked[0]}")
            if way[1] != asked[1]:
                said.append("it is reversed" if way[1] else "it is not reversed")
            return " and ".join(said)
    if is_length(-along):
        return "it has the wrong sign: in front of the camera it is positive"
    straight = np.linalg.norm(points - handed.camera.eye_m, axis=1) / convention.metres_per_unit
    if not handed.camera.parallel and is_length(straight):
        return "it is the straight distance from the eye, not the depth along the axis"
    for factor, words in UNITS.items():
        if is_length(along * factor) or is_length(along / factor):
            return f"its unit is another: {words}"
    near, far = handed.camera.near_m, handed.camera.far_m
    for low, says in ((near, "from the near to the far plane"), (0.0, "from the camera to the far plane")):
        if bool(np.all(np.abs(given - (along_m - low) / (far - low)) <= CLIP_STEP)):
            return f"it runs evenly from 0 to 1 {says}; it should be a length, or the depth after the divide"
    return "no depth that is known here explains it"


def _px(pixels: float) -> str:
    return f"{max(pixels, 1e-3):.4g} px" if pixels < 1e6 else "more than a million px"
