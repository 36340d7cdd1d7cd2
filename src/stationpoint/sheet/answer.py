"""What a verdict says in words: the flag of a cell, and the answer under a sheet's title."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import replace

from stationpoint.base.words import listed
from stationpoint.readings import Verdict, cause_words, finding_words, value_words
from stationpoint.sheet.flag import Flag

MOST_NAMED = 4


def flags(verdicts: Mapping[str, Verdict], chosen: str | None = None) -> dict[str, Flag]:
    """Variant label -> the flag of its cell. chosen: label of the one taken, which has a flag without a
    brief, too."""
    made = {} if chosen is None or chosen in verdicts else {chosen: Flag("chosen")}
    for label, verdict in verdicts.items():
        bound = verdict.binds
        if bound is None:
            made[label] = Flag("holds")
        elif verdict.holds:
            made[label] = Flag("holds", f"nearest limit: {finding_words(bound)}", bound.path)
        else:
            made[label] = Flag("fails", finding_words(bound), bound.path, value_words(bound))
        if label == chosen:
            made[label] = replace(made[label], kind="chosen" if verdict.holds else "chosen-fails")
    return made


def answer_words(verdicts: Mapping[str, Verdict]) -> str:
    """One line: which variants hold, and what fails the others."""
    if not verdicts:
        return ""
    holding = [label for label, verdict in verdicts.items() if verdict.holds]
    failing = [verdict for verdict in verdicts.values() if not verdict.holds]
    if not failing:
        return "Every variant holds the brief." if len(holding) > 1 else f"{holding[0]} holds the brief."
    common, count = Counter(cause_words(v.binds) for v in failing if v.binds is not None).most_common(1)[0]
    if len(verdicts) == 1:
        return f"{failing[0].variant} does not hold the brief, by {common}."
    if count == len(failing):
        they_fail = "all fail" if not holding else "the others fail" if count > 1 else "the other fails"
        cause = f"{they_fail} by {common}"
    else:
        cause = f"most fail by {common}" if 2 * count > len(failing) else f"the commonest cause is {common}"
    if not holding:
        return f"None holds the brief; {cause}."
    if len(holding) <= MOST_NAMED:
        return f"{listed(holding)} {'holds' if len(holding) == 1 else 'hold'}; {cause}."
    return f"{len(holding)} of {len(verdicts)} hold; {cause}."
