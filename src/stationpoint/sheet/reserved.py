"""Reserved areas in words: what the interface will cover, by how much, and which part of it."""

from __future__ import annotations

from stationpoint.base.words import listed, number
from stationpoint.readings import FLAGGED_COVER, Path, Result
from stationpoint.study import Study

LEAST_NAMED = 0.05  # of a thing, by one area of several


def covered_words(result: Result, study: Study) -> dict[str, str]:
    """Things that reserved areas cover by a quarter or more -> "45 % under map", "wholly under map"; the
    subject first, then the targets in the study's order."""
    if not study.reserved:
        return {}
    subject = [] if study.subject is None else [(study.subject.name, ("subject",))]
    others = [(one.name, ("subjects", one.name)) for one in study.others]
    things: list[tuple[str, Path]] = [
        *subject,
        *others,
        *((one.name, ("targets", one.name)) for one in study.target),
    ]
    found = ((name, _words(result, study, path)) for name, path in things)
    return {name: words for name, words in found if words}


def _words(result: Result, study: Study, path: Path) -> str:
    cover = result.reading.values.get((*path, "reserved_cover"))
    if not isinstance(cover, float | int) or cover < FLAGGED_COVER:
        return ""
    shares = result.reading.extras.get(("reserved", *path))
    names = [area.name for area in study.reserved]
    if shares is not None and len(shares) == len(names):
        own = dict(zip(names, shares[:, 0].tolist(), strict=True))
        names = [name for name in names if own[name] >= min(LEAST_NAMED, max(own.values()))]
    if result.reading.values.get((*path, "seen")) == 0:
        return f"wholly under {listed(names)}"
    return f"{number(min(99.0, 100.0 * cover), 0)} % under {listed(names)}"


def wholly_covered(result: Result, study: Study) -> dict[str, str]:
    """Those of them of which nothing is left to be seen."""
    return {name: words for name, words in covered_words(result, study).items() if words.startswith("wholly")}


def tickets_words(result: Result, study: Study) -> str:
    """All of them in one line: "plate 45 % under map; hero wholly under log"."""
    return "; ".join(f"{name} {words}" for name, words in covered_words(result, study).items())
