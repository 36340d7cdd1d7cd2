"""What the legend of a page must explain: read off its results, its study and the marks drawn."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from stationpoint.readings import CUE_RULES, Result, bounded_meanings
from stationpoint.sheet.cues import grades_used, missing_in_game, pairs_of
from stationpoint.sheet.flag import Flag, Kind
from stationpoint.sheet.legend.legend import Uses
from stationpoint.sheet.legend.words import said_on
from stationpoint.study import Study


def uses_of(
    results: Sequence[Result],
    study: Study,
    used: set[str],
    verdicts: Mapping[str, Flag],
    mode: str,
    edges_m: tuple[float, ...],
    grid_drawn: bool,
    texts: Sequence[str],
    mark_m: float = 1.0,
) -> Uses:
    """What the legend of a page must explain. used: the marks drawn. texts: what the page
    says. The rest as in compose."""
    order: tuple[Kind, ...] = ("chosen", "holds", "fails", "none")
    kinds = {verdicts[t.variant.label].kind for t in results if t.variant.label in verdicts}
    roles: list[tuple[str, tuple[str, ...]]] = []
    if study.subject is not None and study.shows_subject:
        roles.append(("subject", (study.subject.name,)))
    for role in ("primary", "secondary", "tertiary"):
        names = tuple(target.name for target in study.target if target.role == role)
        roles += [(role, names)] if names else []
    tinted = mode in ("marks", "clean", "silhouette")
    pairs = [pairs_of(result, study) for result in results]
    about = next((found[0].partition(":")[2] for found in pairs if found), "")
    bounded = bounded_meanings(study)
    return Uses(
        flags=tuple(kind for kind in order if kind in kinds),
        marks=frozenset(used),
        roles=tuple(roles) if tinted else (),
        grid=grid_drawn and mode in ("marks", "clean"),
        bands_m=edges_m,
        flat=mode == "silhouette",
        said=said_on(texts, bounded),
        bounded=tuple(bounded.items()) if kinds else (),
        cues_for=about,
        grades=grades_used(results, study),
        not_shipped=frozenset(cue.name for cue in CUE_RULES.values() if missing_in_game(cue, study)),
        glance=study.glance_factor,
        mark_m=mark_m,
    )
