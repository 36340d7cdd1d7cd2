"""Mistakes of the lens: angles, gate, view height, shift."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from math import atan, degrees, hypot, radians, tan

from stationpoint.record import HandedBack
from stationpoint.run.port.mistakes.trial import LENS, Mistake, Trial


def lens_mistakes(handed: HandedBack) -> Iterator[Mistake]:
    """Another angle of view or view height, another aspect, a shift that is none."""
    p = handed.camera.projection

    def scaled(x: float, y: float) -> Callable[[Trial], Trial]:
        """Another scale about the same axis; where the axis lands stays."""

        def alters(trial: Trial) -> Trial:
            new = trial.projection.copy()
            new[0, 0], new[1, 1] = x, y
            if handed.camera.parallel:
                new[0, 2], new[1, 2] = new[0, 2] * x / p[0, 0], new[1, 2] * y / p[1, 1]
            return replace(trial, projection=new)

        return alters

    def of(name: str, says: str, x: float, y: float, common: bool = True) -> Mistake:
        return Mistake(name, says, LENS, scaled(x, y), common)

    a = p[1, 1] / p[0, 0]
    if handed.camera.parallel:
        yield of(
            "half height for whole",
            "the view height is taken as half of it: all is drawn half as large",
            p[0, 0] / 2,
            p[1, 1] / 2,
        )
        yield of(
            "whole height for half",
            "half the view height is taken as the whole: all is drawn twice as large",
            p[0, 0] * 2,
            p[1, 1] * 2,
        )
        yield of("height for width", "the view height is taken as its width", p[0, 0] * a, p[1, 1] * a)
        yield of(
            "width for height", "the view's width is taken as its height", p[0, 0] / a, p[1, 1] / a, False
        )
    else:
        h, v, d = atan(1 / p[0, 0]), atan(1 / p[1, 1]), atan(hypot(1 / p[0, 0], 1 / p[1, 1]))
        yield of(
            "vertical for horizontal angle",
            "the vertical angle of view is used as the horizontal one",
            1 / tan(v),
            a / tan(v),
        )
        yield of(
            "horizontal for vertical angle",
            "the horizontal angle of view is used as the vertical one",
            1 / tan(h) / a,
            1 / tan(h),
        )
        yield of(
            "diagonal for vertical angle",
            "the diagonal angle of view is used as the vertical one",
            1 / tan(d) / a,
            1 / tan(d),
            False,
        )
        yield of(
            "diagonal for horizontal angle",
            "the diagonal angle of view is used as the horizontal one",
            1 / tan(d),
            a / tan(d),
            False,
        )
        for name, half in (("vertical", v), ("horizontal", h)):
            wrong = tan(degrees(half))
            by = 1.0 if name == "vertical" else a
            yield of(
                "degrees for radians in the lens",
                f"the {name} angle of view is in degrees where radians are asked for",
                by / wrong / a,
                by / wrong,
            )
            wrong = tan(radians(half))
            yield of(
                "radians for degrees in the lens",
                f"the {name} angle of view is in radians where degrees are asked for",
                by / wrong / a,
                by / wrong,
            )
        yield of(
            "half angle for whole",
            "the angle of view is taken as half of it",
            1 / tan(2 * v) / a,
            1 / tan(2 * v),
            False,
        )
        yield of(
            "half angle for whole",
            "the horizontal angle of view is taken as half of it",
            1 / tan(2 * h),
            a / tan(2 * h),
            False,
        )
        yield of(
            "whole angle for half",
            "half the angle of view is taken as the whole",
            1 / tan(v / 2) / a,
            1 / tan(v / 2),
            False,
        )
        yield of(
            "whole angle for half",
            "half the horizontal angle is taken as the whole",
            1 / tan(h / 2),
            a / tan(h / 2),
            False,
        )
        yield from _gates(handed, of)
    if abs(a - handed.aspect) < 1e-3:
        yield of("aspect forgotten", "the aspect is forgotten: x is scaled as y is", p[1, 1], p[1, 1])
        yield of(
            "aspect upside down", "height over width is taken as the aspect", p[1, 1] * a, p[1, 1], False
        )
    yield from _shifts(handed)


def _gates(handed: HandedBack, of: Callable[[str, str, float, float, bool], Mistake]) -> Iterator[Mistake]:
    """The focal length on another side of the gate."""
    focal, a = handed.focal_mm, handed.aspect
    if focal is None or handed.gate_mm is None:
        return
    width, height = handed.gate_mm
    for side, x in (("height", 2 * focal / height / a), ("width", 2 * focal / width)):
        yield of(
            "focal length on another gate",
            f"the focal length is matched to the gate's {side}, not as `fit` says",
            x,
            x * a,
            True,
        )


def _shifts(handed: HandedBack) -> Iterator[Mistake]:
    x, y = handed.lens_shift
    oblique = handed.camera.kind == "oblique"

    def shifted(by_x: float, by_y: float) -> Callable[[Trial], Trial]:
        """The projection with that much of its shift."""

        def alters(trial: Trial) -> Trial:
            new = trial.projection.copy()
            if handed.camera.parallel:
                new[0, 3] += 2 * x * (by_x - 1)
                new[1, 3] += 2 * y * (by_y - 1)
            else:
                new[0, 2] *= by_x
                new[1, 2] *= by_y
            return replace(trial, projection=new)

        return alters

    if x or y:
        yield Mistake("lens shift forgotten", "the lens shift is forgotten", LENS, shifted(0, 0))
        for by_x, by_y in ((-1, -1), (-1, 1), (1, -1)):
            if (x or by_x > 0) and (y or by_y > 0):
                which = "x and y" if by_x == by_y else "x" if by_x < 0 else "y"
                says = f"the lens shift has the wrong sign in {which}"
                yield Mistake("lens shift sign", says, LENS, shifted(by_x, by_y))
        yield Mistake(
            "lens shift halved",
            "half the lens shift is used: it is a fraction of the whole picture",
            LENS,
            shifted(0.5, 0.5),
            False,
        )
        yield Mistake(
            "lens shift doubled",
            "twice the lens shift is used: it is a fraction of the whole picture",
            LENS,
            shifted(2, 2),
            False,
        )
    if oblique:

        def straight(trial: Trial) -> Trial:
            new = trial.projection.copy()
            new[0, 2] = new[1, 2] = 0.0
            new[0, 3], new[1, 3] = 2 * x, 2 * y
            return replace(trial, projection=new)

        yield Mistake("oblique forgotten", "the view is drawn straight, not oblique", LENS, straight)
