"""What the legend of a page must explain: read off its results, its study and the marks drawn."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from stationpoint.base.geometry.pixels import id_counts
from stationpoint.base.look import RGB, ROLE_TINT
from stationpoint.readings import CUE_RULES, Result, bounded_meanings
from stationpoint.sheet.cues import grades_used, missing_in_game, pairs_of
from stationpoint.sheet.flag import Flag, Kind
from stationpoint.sheet.legend.legend import Uses
from stationpoint.sheet.legend.words import said_on
from stationpoint.sheet.modes.ladder import Ladder
from stationpoint.sheet.modes.modes import BY_NAME
from stationpoint.sheet.roles import Owner, names_by_role
from stationpoint.study import Study


def uses_of(
    results: Sequence[Result],
    study: Study,
    used: set[str],
    verdicts: Mapping[str, Flag],
    mode: str,
    ladder: Ladder | None,
    grid: RGB | None,
    texts: Sequence[str],
    mark_m: float = 1.0,
    who: Mapping[int, Owner] | None = None,
    outlined: frozenset[int] = frozenset(),
    own_ids: frozenset[int] = frozenset(),
) -> Uses:
    """What the legend of a page must explain. used: the marks drawn. ladder: the mode's steps. texts: what
    the page says. who: `owners_by_id`. outlined: ids that are outlined. own_ids: those that
    pictures show in own colours, so that no tint tells them. The rest as in compose."""
    order: tuple[Kind, ...] = ("chosen", "chosen-fails", "holds", "fails", "none")
    kinds = {verdicts[t.variant.label].kind for t in results if t.variant.label in verdicts}
    how = BY_NAME[mode]
    who = who or {}
    untinted = frozenset() if how.paired else own_ids
    tinted = names_by_role(study, who, untinted, False) if how.tinted else []
    lined = [pair for pair in names_by_role(study, who, outlined, True) if f"outline {pair[0]}" in used]
    is_flat = mode == "silhouette"
    ids = [result.ids for result in results if result.ids is not None] if is_flat else []
    stripes = {one.role for result in results for one in _hidden_owners(result, who)} if is_flat else set()
    pairs = [pairs_of(result, study) for result in results]
    about = next((found[0].partition(":")[2] for found in pairs if found), "")
    grades = grades_used(results, study)
    bounded = bounded_meanings(study)
    return Uses(
        flags=tuple(kind for kind in order if kind in kinds),
        marks=frozenset(used),
        roles=tuple(tinted),
        outlined=tuple(lined),
        paired=how.paired,
        grid=grid if how.grid else None,
        ladder=ladder,
        flat=is_flat,
        sky=any(bool((plane == 0).any()) for plane in ids),
        striped=next((role for role in ROLE_TINT if role in stripes), ""),
        said=said_on(texts, bounded),
        bounded=tuple(bounded.items()) if kinds else (),
        cues_for=about if grades else "",
        grades=grades,
        not_shipped=frozenset(cue.name for cue in CUE_RULES.values() if missing_in_game(cue, study)),
        glance=study.glance_factor,
        mark_m=mark_m,
    )


def _hidden_owners(result: Result, who: Mapping[int, Owner]) -> list[Owner]:
    """Whose hidden parts a silhouette shows in stripes."""
    if result.hidden is None:
        return []
    return [who[number] for number in id_counts(result.hidden, 1).nonzero()[0].tolist() if number in who]
