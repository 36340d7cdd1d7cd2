"""What a verdict says in words: the flag of a cell, and the answer under a sheet's title."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace

from stationpoint.readings import (
    ASSUMED,
    Finding,
    Verdict,
    about_reading,
    cause_words,
    finding_words,
    measured_words,
    wrong_words,
)
from stationpoint.sheet.cameras import Camera, cameras_words
from stationpoint.sheet.flag import Flag, Stated
from stationpoint.study import LIGHT, NAMED, Study, SweptCamera, Variant, swept_cameras

MOST_LETTERS = 85
NO_BRIEF = "No brief yet, so nothing is judged: a [[limit]] in the study says what must hold."
PLACED = {"place": "place", "viewing": "viewing", **dict.fromkeys(LIGHT, "light")}
ARTICLES = ("the ", "a ", "an ")
COUNTING = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def flags(verdicts: Mapping[str, Verdict], chosen: str | None = None) -> dict[str, Flag]:
    """Variant label -> the flag of its cell. chosen: label of the one taken, which has a flag without a
    brief, too."""
    made = {label: _flag(verdict) for label, verdict in verdicts.items()}
    if chosen is not None:
        flag = made.get(chosen, Flag("chosen"))
        made[chosen] = replace(flag, kind="chosen-fails" if flag.fails else "chosen")
    return made


def _flag(verdict: Verdict) -> Flag:
    bound = verdict.binds
    others = tuple(
        Stated(finding_words(found), found.margin >= 0.0, measured_words(found))
        for found in verdict.each
        if found is not bound and not (found.limit == ASSUMED and found.margin >= 0.0)
    )
    if bound is None:
        return Flag("holds", others=others)
    if verdict.holds:
        return Flag("holds", f"nearest limit: {finding_words(bound)}", bound.path, others=others)
    wrong = wrong_words(bound)
    limit = measured_words(bound, with_cause=False) if wrong else finding_words(bound)
    return Flag("fails", limit, bound.path, wrong, bound.limit.why, others)


def answer_words(verdicts: Mapping[str, Verdict], variants: Sequence[Variant], study: Study) -> str:
    """One line of at most 85 letters: which cameras hold the brief, and what is wrong in the others; that
    there is no brief, where the study has none.

    What fits is said: cameras by name, else how many; what is wrong with its thing by name, else not. A
    camera that is seen at several places, viewings or lights holds where all of these do.
    """
    if not verdicts:
        return "" if study.limit else NO_BRIEF
    cameras = [
        one for one in swept_cameras(study, variants) if all(label in verdicts for label in one.variants)
    ]
    holding = [camera for camera in cameras if all(verdicts[label].holds for label in camera.variants)]
    failing = [camera for camera in cameras if camera not in holding]
    causes = [_worst(camera, verdicts) for camera in failing]
    if not failing:
        every = {1: "The camera holds", 2: "Both cameras hold"}
        only = every.get(len(cameras), f"All {len(cameras)} cameras hold")
        return f"{only} the brief."
    swept = _swept(variants)
    if not holding:
        tries = _none_hold(failing, verdicts, variants, swept, causes)
    else:
        tries = _some_hold(holding, failing, swept, causes)
    short = [one for one in tries if len(one) <= MOST_LETTERS]
    return _sentence(short[0] if short else tries[-1])


def _some_hold(
    holding: Sequence[SweptCamera],
    failing: Sequence[SweptCamera],
    swept: Mapping[str, Camera],
    causes: Sequence[Finding | None],
) -> list[str]:
    """What may be said where some cameras hold, the most telling first."""
    those, others = ([swept[one.variants[0]] for one in group] for group in (holding, failing))
    count = len(holding) + len(failing)
    named = cameras_words(those, others)
    is_one = " and " not in named
    names = [f"{named} {'holds' if is_one else 'hold'}"] if named else []
    names.append(f"{len(holding)} of {count} cameras {'holds' if len(holding) == 1 else 'hold'}")
    where = "in the other" if len(failing) == 1 else "elsewhere"
    said = _causes(causes, where, "in most others", "elsewhere most often")
    return [*(f"{name}; {cause}." for name in names for cause in said), *(f"{name}." for name in names)]


def _none_hold(
    failing: Sequence[SweptCamera],
    verdicts: Mapping[str, Verdict],
    variants: Sequence[Variant],
    swept: Mapping[str, Camera],
    causes: Sequence[Finding | None],
) -> list[str]:
    """What may be said where no camera holds: the one that does at most places, if that is one."""
    kinds = {PLACED[field] for variant in variants for field, _ in variant.changes if field in PLACED}
    spots = max(len(camera.variants) for camera in failing)
    kind = kinds.pop() if len(kinds) == 1 else ""
    at = "in" if kind in ("light", "") else "at"
    everywhere = f"{at} every {kind}" if kind else "everywhere"
    nobody = "The camera does not hold" if len(failing) == 1 else "No camera holds"
    held = [sum(verdicts[label].holds for label in camera.variants) for camera in failing]
    most = max(held)
    causes_said = _causes(causes, "everywhere" if len(failing) > 1 else "", "mostly", "most often")
    if spots == 1 or most == 0:
        return [*(f"{nobody} the brief: {cause}." for cause in causes_said), f"{nobody} the brief."]
    best = [camera for camera, count in zip(failing, held, strict=True) if count == most]
    others = [swept[one.variants[0]] for one in failing if one not in best]
    name = cameras_words([swept[one.variants[0]] for one in best], others) if others else ""
    best_does = f"{name or 'the best'} {'does' if len(best) == 1 else 'do'} {at} {most} of {spots}"
    if len(failing) == 1:
        best_does = f"it does {at} {most} of {spots}"
    missed = [
        verdicts[label].binds for camera in best for label in camera.variants if not verdicts[label].holds
    ]
    said = [words.strip() for words in _causes(missed, "", "", "")]
    whole = f"{nobody} {everywhere}; {best_does}"
    return [*(f"{whole}, else {cause}." for cause in said), f"{whole}.", f"{nobody} {everywhere}."]


def _worst(camera: SweptCamera, verdicts: Mapping[str, Verdict]) -> Finding | None:
    """What binds a camera that fails, the worst of its variants'."""
    found = [verdicts[label].binds for label in camera.variants if not verdicts[label].holds]
    return min((one for one in found if one is not None), key=lambda one: one.margin, default=None)


def _causes(found: Sequence[Finding | None], all_of: str, most: str, often: str) -> list[str]:
    """What is wrong most often among these: "elsewhere the slung load is out of view". all_of, most, often:
    what is said before it where it is so in all, in more than half, in fewer."""
    those = [one for one in found if one is not None]
    if not those:
        return []
    ((cause, count),) = Counter(cause_words(one) for one in those).most_common(1)
    alike = [one for one in those if cause_words(one) == cause]
    where = all_of if count == len(found) else most if 2 * count > len(found) else often
    named = [
        words for one in alike if (words := wrong_words(one, _with_article(about_reading(one.path).whose)))
    ]
    said = [Counter(named).most_common(1)[0][0]] if named else []
    return [f"{where} {words}".strip() for words in [*said, _fails(alike[0])]]


def _fails(found: Finding) -> str:
    """What fails where there are no words of the level, or no room: "barge three misses its piece limit"."""
    whose, reading, *_ = about_reading(found.path)
    if not whose:
        return f"{reading} misses its limit"
    return f"{_with_article(whose)} {'miss' if ' and ' in whose else 'misses'} its {reading} limit"


def _with_article(name: str) -> str:
    """A thing in a sentence: "the slung load"; a name that is capital, counted or has one stays."""
    first, last = name[:1], name.split(" ")[-1]
    is_name = not first.isascii() or not first.islower() or name.lower().startswith(ARTICLES)
    is_pair = " and " in name or len(name) == 1  # two directions, or an axis
    return name if is_name or is_pair or last in COUNTING or last[-1:].isdigit() else f"the {name}"


def _swept(variants: Sequence[Variant]) -> dict[str, Camera]:
    """Variant label -> what is swept of its camera, but for what is one camera to a player."""
    apart = (*NAMED, *LIGHT)
    return {
        one.label: {field: value for field, value in one.changes if field not in apart} for one in variants
    }


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:]
