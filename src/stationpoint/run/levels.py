"""One camera on many levels: how each study stands to its brief, the worst first, and its worst picture."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from math import inf
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.words import counted, plain
from stationpoint.camera import Shot
from stationpoint.readings import MAIN, CameraVerdict, Verdict, finding_words
from stationpoint.record import Record
from stationpoint.render import open_renderer
from stationpoint.run.cases import cases, pictures_of
from stationpoint.run.prepare import Prepared
from stationpoint.run.sheet import Drawing, aids_drawn, chosen_variants
from stationpoint.run.sweep import Wants, shots_of
from stationpoint.sheet import Flag, LevelRow, flags
from stationpoint.study import HERE

WIDTH_PX, HEIGHT_PX = 320, 180  # of a level's picture, at most
SCORE_DECIMALS = 5  # as in records


@dataclass(frozen=True, slots=True)
class Judged:
    """How a study stands. variant: the one that decides. score: its worst
    margin, None without a must. place, viewing: where that is so. words: the limit that binds and what was
    found. flag: as on a sheet. holding, of: how many variants hold, or cameras, as noun says."""

    variant: str
    holds: bool
    score: float | None
    place: str
    viewing: str | None
    reading: str
    words: str
    flag: Flag
    holding: int
    of: int
    noun: str


@dataclass(frozen=True, slots=True)
class Level:
    """A study among others. name: what tells it from them. wrong: why it could not be judged. notes: what
    a person should know of it. picture: of its worst cell."""

    name: str
    title: str = ""
    sha256: str | None = None
    judged: Judged | None = None
    wrong: str = ""
    notes: tuple[str, ...] = ()
    picture: NDArray[np.uint8] | None = None

    @property
    def order(self) -> tuple[int, float, str]:
        """Where it stands: what could not be judged first, then what fails, each worst first."""
        if self.judged is None:
            return 0, 0.0, self.name
        score = inf if self.judged.score is None else self.judged.score
        return 2 if self.judged.holds else 1, score, self.name

    @property
    def line(self) -> str:
        """The level in one line."""
        one = self.judged
        if one is None:
            return f"{self.name} could not be judged: {self.wrong}"
        margin = "" if one.score is None else f", margin {plain(one.score, 2)}"
        if one.holds:
            nearest = f"; nearest limit: {one.words}" if one.words else ""
            return f"{self.name} holds{margin}{nearest} ({one.variant})."
        return f"{self.name} fails{margin}: {one.words} [{one.reading}] ({one.variant})."

    @property
    def said(self) -> Record:
        """The level as JSON knows it."""
        one = self.judged
        if one is None:
            return {"name": self.name, "holds": None, "wrong": self.wrong}
        return {
            "name": self.name,
            "title": self.title,
            "sha256": self.sha256,
            "holds": one.holds,
            "score": one.score,
            "variant": one.variant,
            "reading": one.reading or None,
            "place": one.place,
            "viewing": one.viewing,
            "says": one.words,
            f"{one.noun}s": {"holding": one.holding, "of": one.of},
        }

    @property
    def row(self) -> LevelRow:
        """The level as a sheet shows it."""
        one = self.judged
        if one is None:
            return LevelRow(self.name, "", Flag("none", self.wrong))
        where = one.variant + ("" if one.place == HERE else f", {one.place}")
        if one.of > 1:
            where += f"; {one.holding} of {one.of} {one.noun}s hold{'s' * (one.holding == 1)}"
        margin = "" if one.score is None else plain(one.score, 2)
        return LevelRow(self.name, where, one.flag, margin, self.picture)


def judged_level(
    prepared: Prepared,
    verdicts: dict[str, Verdict],
    cameras: Sequence[CameraVerdict] | None,
    needs_all: bool,
) -> Judged:
    """How a study stands: by the chosen variant, without a decision by the best camera; by the worst where
    all must hold. cameras: None where each variant is one. The worst variant of a camera decides for it."""
    taken = None if prepared.chosen is None else prepared.chosen.label
    groups: list[tuple[str, ...]] = [(label,) for label in verdicts]
    if cameras is not None:
        groups = [tuple(one.camera.variants) for one in cameras]

    def margin(label: str) -> tuple[bool, float]:
        found = verdicts[label]
        return found.holds, inf if found.score is None else found.score

    def standing(group: tuple[str, ...]) -> tuple[tuple[bool, float], int]:
        return margin(min(group, key=margin)), sum(verdicts[label].holds for label in group)

    worst = [min(group, key=margin) for group in groups]
    best_camera = max(groups, key=standing)
    best = taken if taken in verdicts else min(best_camera, key=margin)
    label = min(worst, key=margin) if needs_all else best
    verdict = verdicts[label]
    bound = verdict.binds
    own = next(variant for variant in prepared.variants if variant.label == label)
    return Judged(
        variant=label,
        holds=verdict.holds,
        score=None if verdict.score is None else round(verdict.score, SCORE_DECIMALS) + 0.0,
        place=(own.place or prepared.study.places[0].name) if bound is None else bound.place,
        viewing=None if bound is None else bound.viewing,
        reading="" if bound is None else bound.reading,
        words="" if bound is None else finding_words(bound),
        flag=replace(flags(verdicts, taken)[label], others=()),
        holding=sum(verdicts[label].holds for label in worst),
        of=len(worst),
        noun="variant" if cameras is None else "camera",
    )


def kept_judged(judged: Judged) -> dict[str, Any]:
    """How a study stands as data, for `judged_again`."""
    return asdict(judged)


def judged_again(data: dict[str, Any]) -> Judged:
    """What `kept_judged` has made data of."""
    flag = data["flag"]
    made = Flag(**{**flag, "binding": tuple(flag["binding"]), "others": ()})
    return Judged(**{**data, "flag": made})


def worst_picture(prepared: Prepared, judged: Judged, renderer: str) -> NDArray[np.uint8]:
    """The picture of the cell that decides, small: (h, w, 3), no wider and no higher than a row's."""
    prepared = chosen_variants(prepared, (judged.variant,))
    _, down = pictures_of(prepared.variants[0], prepared, WIDTH_PX)[0].shape.cell_px
    width = min(WIDTH_PX, int(WIDTH_PX * HEIGHT_PX / down))
    those = [case for case in cases(prepared, width) if case.place.name == judged.place]
    seen = [case for case in those if any(at.name == judged.viewing for at in case.seats)]
    grid, shadow = aids_drawn(prepared, Drawing())
    own = any(node.shows_own for node in prepared.scene.nodes)
    wants = Wants(cell_width=width, grid=grid, shadow=shadow, own=own, only=frozenset())
    shot: Shot = shots_of((seen or those)[0], wants, True)[MAIN]
    with open_renderer(renderer, prepared.scene) as opened:
        colour = opened.draw(shot).colour
    assert colour is not None
    return colour


def told_studies(text: str) -> list[str]:
    """What a sheet of several studies keeps, in lines; none where the text is no such thing."""
    try:
        whole = json.loads(text)
        tool, studies = whole["tool"], whole["studies"]
        words = {True: "holds", False: "fails", None: "could not be judged"}
        lines = [
            f"{one['name']} {words[one['holds']]}: {one['wrong'] if one['holds'] is None else one['says']}"
            for one in studies
        ]
    except (ValueError, TypeError, KeyError, RecursionError):
        return []
    head = (
        f"A sheet of {counted(len(lines), 'study', 'studies')}, judged by {tool['name']} {tool['version']}."
    )
    return [head, *lines]
