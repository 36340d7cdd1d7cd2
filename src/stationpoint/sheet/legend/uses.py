"""What the legend of a page must explain: read off its results, its study and the marks drawn."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from stationpoint.base.words import plain
from stationpoint.readings import CUE_RULES, Result
from stationpoint.sheet.caption import NEEDS_A_CUE, UNSEEN, verdict_words
from stationpoint.sheet.cues import grades_used, missing_in_game, pairs_of
from stationpoint.sheet.flag import Flag, Kind
from stationpoint.sheet.legend.legend import Uses
from stationpoint.sheet.reserved import covered_words
from stationpoint.sheet.wording import CAMERA_PAIRS, confused, gap_spans
from stationpoint.study import Study


def uses_of(
    results: Sequence[Result],
    study: Study,
    used: set[str],
    verdicts: Mapping[str, Flag],
    mode: str,
    edges_m: tuple[float, ...],
    grid_drawn: bool,
    mark_m: float = 1.0,
) -> Uses:
    """What the legend of a page must explain. used: the marks drawn. The rest as in compose."""
    order: tuple[Kind, ...] = ("chosen", "chosen-fails", "holds", "fails", "none")
    kinds = {verdicts[t.variant.label].kind for t in results if t.variant.label in verdicts}
    roles: list[tuple[str, tuple[str, ...]]] = []
    if study.subject is not None and study.shows_subject:
        roles.append(("subject", (study.subject.name,)))
    for role in ("primary", "secondary", "tertiary"):
        names = tuple(target.name for target in study.target if target.role == role)
        roles += [(role, names)] if names else []
    tinted = mode in ("marks", "clean", "silhouette")
    values = [
        path for result in results for path, value in result.reading.values.items() if value is not None
    ]
    pairs = [pairs_of(result, study) for result in results]
    about = next((found[0].partition(":")[2] for found in pairs if found), "")
    gaps = [gap_spans(result, gap.name) for result in results for gap in study.gap]
    verdicts_said = [
        "".join(words for words, _ in verdict_words(result, gap.name))
        for result in results
        for gap in study.gap
    ]
    return Uses(
        flags=tuple(kind for kind in order if kind in kinds),
        marks=frozenset(used),
        roles=tuple(roles) if tinted else (),
        grid=grid_drawn and mode in ("marks", "clean"),
        bands_m=edges_m,
        flat=mode == "silhouette",
        angles=any(result.setup.hfov_deg is not None for result in results),
        seen=bool(study.target) and any(path[0] == "targets" and path[-1] == "seen" for path in values),
        arcmin=bool(study.target) and any(path[0] == "targets" and "size_arcmin" in path for path in values),
        looks=bool(study.gap) and any(path[0] == "gaps" and path[-1] == "flat_span_m" for path in values),
        level=any(spans[2] for spans in gaps if spans is not None),
        tell=any(", to " in said for said in verdicts_said),
        needs=any(NEEDS_A_CUE + ": " in said for said in verdicts_said),
        unseen=UNSEEN in verdicts_said,
        cues_for=about,
        grades=grades_used(results, study),
        not_shipped=frozenset(cue.name for cue in CUE_RULES.values() if missing_in_game(cue, study)),
        glance=study.glance_factor,
        pitch=any(plain(result.setup.pitch_deg, 1) != "0" for result in results),
        yaw=any(plain(abs(result.setup.yaw_deg), 1) not in ("0", "180") for result in results),
        ways=any(pair in CAMERA_PAIRS for result in results for pair in confused(result)),
        under=any(covered_words(result, study) for result in results),
        mark_m=mark_m,
    )
