"""The brief against the study: whether each limit bounds readings that there are, by what they can be."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from stationpoint.base.complaints import quoted_value, ticked, unknown_word
from stationpoint.base.words import plain
from stationpoint.readings.paths import (
    SUBJECT,
    SUBJECTS,
    complaint,
    field_at,
    in_play,
    meant,
    paths_of,
    target_of,
    viewing_of,
)
from stationpoint.readings.types import SHARE, Field, Path
from stationpoint.study import Limit, Study

if TYPE_CHECKING:
    pass

PERCENT = 100.0
LEAST_SUBJECT_SEEN = 0.25  # common practice
ASSUMED = Limit(reading=f"{SUBJECT}.seen", min=LEAST_SUBJECT_SEEN, why="nothing else is said of it")
HOLDS = {
    "number": "a number",
    "numbers": "several numbers",
    "word": "a word",
    "flag": "true or false",
    "word or false": "a word, or false",
    "groups": "a list",
    "names": "a list of names",
    "shares by node": "a list of nodes",
}
BOUND_BY = {  # what each can be bounded by, in words
    "number": "use min, max, is, not or one_of with numbers",
    "numbers": "use min and max, which bind the worst of them",
    "word": "use is, not or one_of with text",
    "flag": "use is or not with true or false",
    "word or false": "use is, not or one_of with text or false",
    "groups": "use min and max, which bind how many there are",
    "names": "use min and max, which bind how many there are",
    "shares by node": "no limit can bound it; bound `seen`",
}


_last: list[tuple[Study, tuple[Path, ...]]] = []  # at most one


def bounded(limit: Limit, paths: Iterable[Path], study: Study) -> list[Path]:
    """The readings among these that a limit is about, its role and its viewing heeded."""
    roles = {} if limit.role is None else {target.name: target.role for target in study.target}
    return [
        path
        for path in meant(limit.reading, paths)
        if (limit.role is None or roles.get(target_of(path) or "") == limit.role)
        and (limit.viewing is None or viewing_of(path) in (None, limit.viewing))
    ]


def bounded_paths(study: Study) -> list[Path]:
    """Every reading that the brief is about: found once for a study, of which every case asks."""
    if not _last or _last[0][0] is not study:
        paths = paths_of(study)
        found = dict.fromkeys(path for limit in study.limit for path in bounded(limit, paths, study))
        _last[:] = [(study, tuple(found))]
    return list(_last[0][1])


def with_assumed(study: Study) -> Study:
    """The study with the must that a brief has which says nothing of a subject that can be seen."""
    if not study.limit or not study.shows_subject or study.subject is None or study.subject.may_hide:
        return study
    own = {(SUBJECT,), (SUBJECTS, study.subject.name)}
    if any(path[:1] in own or path[:2] in own for path in bounded_paths(study)):
        return study
    return study.model_copy(update={"limit": (*study.limit, ASSUMED)})


def without_assumed(study: Study) -> Study:
    """The study as it was before `with_assumed`."""
    own = tuple(limit for limit in study.limit if limit != ASSUMED)
    return study if own == study.limit else study.model_copy(update={"limit": own})


def limit_complaints(study: Study) -> Iterator[str]:
    """What is wrong with the study's limits: one that finds nothing to judge is."""
    for limit in study.limit:
        for said in _complaints(limit, study):
            yield f"limit {quoted_value(limit.reading)}: {said}"


def limit_notes(study: Study) -> Iterator[str]:
    """Limits that every value meets."""
    for limit in study.limit:
        fields = _fields(meant(limit.reading, paths_of(study)))
        bounds = [("min", limit.min, 0.0, "least"), ("max", limit.max, 1.0, "most")]
        given = [(key, bound, end, says) for key, bound, end, says in bounds if bound is not None]
        if given and fields and all(f.unit == SHARE for f in fields) and all(b == e for _, b, e, _ in given):
            key, bound, end, says = given[0]
            yield (
                f"limit {quoted_value(limit.reading)}: every share is at {says} {end:g}, so {key} = "
                f"{bound:g} holds "
                "whatever is measured; bound it closer, or take the limit out"
            )


def _complaints(limit: Limit, study: Study) -> Iterator[str]:
    absent = False
    for kind in ("viewing", "place"):
        name, known = getattr(limit, kind), in_play(study, kind)
        if name is not None and name not in known:
            absent = True
            yield unknown_word(name, known, f"a {kind} of the study")
    said = complaint(limit.reading, study)
    if said is not None:
        yield said
        return
    paths = list(meant(limit.reading, paths_of(study)))
    if not absent and not bounded(limit, paths_of(study), study):
        yield _narrowed(limit, paths)
    for field in _fields(paths):
        wrong = _misfit(limit, field)
        if wrong is not None:
            yield wrong
            return


def _fields(paths: Iterable[Path]) -> list[Field]:
    found = {field.path: field for field in map(field_at, paths) if field is not None}
    return list(found.values())


def _narrowed(limit: Limit, paths: Iterable[Path]) -> str:
    """Why nothing is left of what a pattern means, once it is narrowed."""
    if limit.role is not None and not any(target_of(path) for path in paths):
        return "role narrows a limit on targets, and this reading is about none; take it out."
    if limit.role is not None:
        return f"it is about no {limit.role} target; give it another role, or leave role out."
    return f"it names another viewing than {quoted_value(limit.viewing)}; leave viewing out."


def _misfit(limit: Limit, field: Field) -> str | None:
    """Why the limit's test is none for what a reading holds, None where it is one."""
    name = ticked(".".join(field.path))
    if field.holds == "shares by node" or not _fits(limit, field):
        return f"{name} is {HOLDS[field.holds]}; {BOUND_BY[field.holds]}."
    tests = [limit.is_, limit.not_, *(limit.one_of or ())]
    for word in tests:
        if isinstance(word, str) and field.words and word not in field.words:
            return unknown_word(word, field.words, f"a word that {'.'.join(field.path)} can be")
    if field.unit == SHARE:
        keys = {"min": limit.min, "max": limit.max, "is": limit.is_, "not": limit.not_}
        for key, bound in [*keys.items(), *(("one_of", one) for one in limit.one_of or ())]:
            if isinstance(bound, int | float) and not 0.0 <= bound <= 1.0:
                return _beyond(name, key, float(bound))
    return None


def _fits(limit: Limit, field: Field) -> bool:
    """Whether a reading that holds this can be tested so at all."""
    if limit.min is not None or limit.max is not None:
        return field.holds in ("number", "numbers", "groups", "names")
    for one in (limit.is_, limit.not_, *(limit.one_of or ())):
        if isinstance(one, bool):
            fits = field.holds == "flag" or (field.holds == "word or false" and one is False)
        elif isinstance(one, str):
            fits = field.holds in ("word", "word or false") or bool(field.words)
        else:
            fits = one is None or field.holds == "number"
        if not fits:
            return False
    return True


def _beyond(name: str, key: str, bound: float) -> str:
    """A bound that no share reaches, with the one that is meant."""
    says = f"{name} is a share, which lies between 0 and 1, and {key} is {bound:g}"
    if 1.0 < bound <= PERCENT:
        return f"{says}; did you mean {bound / PERCENT:g}, which is {plain(bound, 6)} %?"
    return f"{says}; give a fraction, such as 0.9 for 90 %."
