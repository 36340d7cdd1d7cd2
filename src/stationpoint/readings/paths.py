"""Which readings a pattern means: the one grammar of paths, for the brief, charts and what is measured.

A pattern is a path's names with dots between them, "targets.crate.seen". `*` stands for one whole name,
that of the group too, never for a part of one. A name that holds dots is written as it is: of a target
"door.seen", "targets.door.seen.role". The viewing at a path's end may be left out, which means every one.
A pattern that can be divided into names in two ways, each of which is a reading of the study, means none.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from fnmatch import filter as like
from types import MappingProxyType
from typing import TYPE_CHECKING

from stationpoint.base.complaints import ticked, unknown_word
from stationpoint.base.errors import StudyWrong
from stationpoint.base.once import once_for_each
from stationpoint.base.words import nearest
from stationpoint.readings.kinds import FIELDS, KINDS
from stationpoint.readings.types import Field, Path
from stationpoint.study import cover_name, gap_name, target_name

if TYPE_CHECKING:
    from stationpoint.study import Study

ANY = "*"
PART = re.compile(r"[*?\[]")
VIEWING, TWINS, CUES = "viewing", "twins", "cues"
APEX, STICK, COVERS = "framing.headroom_at_apex", "framing.stick_error_deg", "framing.subject_covers"
SUBJECT, SUBJECTS = "subject", "subjects"
TARGET = target_name("")  # how a pair of `cues` about a target begins
# The words that may stand for a "*", by what goes before it, where the study does not name them.
FIXED_NAMES = {
    "axes": ("x", "y", "z"),
    "pairs": ("up-away", "up-across", "across-away", "x-y", "x-z", "y-z"),
    "planes": ("ground", "side", "front"),
    f"{TWINS}.{ANY}": ("slide", "mirror"),
    STICK: ("camera", "world"),
}
# What a study without such names lacks.
LACKS = {
    "targets": "no [[target]]",
    SUBJECTS: "no second [[subject]]",
    TWINS: "no [[target]]",
    "gaps": "no [[gap]]",
    APEX: "no [[gap]]",
    CUES: "no [[gap]] and no primary [[target]]",
    COVERS: "no [[target]] and no [[gap]]",
}


class Fields:
    """Fields found by concrete path: "*" in a field's path stands for any one name."""

    def __init__(self, fields: Iterable[Field]) -> None:
        self.all = tuple(fields)
        self._by_path = {field.path: field for field in self.all}
        masks = {tuple(name == ANY for name in field.path) for field in self.all}
        self._masks = sorted(masks, key=lambda mask: (sum(mask), mask))
        self._found: dict[Path, Field | None] = {}

    def at(self, path: Path) -> Field | None:
        """The field of a concrete path, the most literal one that matches, or None."""
        if path not in self._found:
            self._found[path] = self._matching(path)
        return self._found[path]

    def _matching(self, path: Path) -> Field | None:
        for mask in self._masks:
            if len(mask) == len(path):
                wild = tuple(ANY if star else name for star, name in zip(mask, path, strict=True))
                if wild in self._by_path:
                    return self._by_path[wild]
        return None


_KNOWN = Fields(FIELDS)


def field_at(path: Path) -> Field | None:
    """The field of a reading, by its concrete path."""
    return _KNOWN.at(path)


def viewing_of(path: Path) -> str | None:
    """The viewing that a path names; None where the reading is the picture's, for all who see it."""
    if path[0] == VIEWING:
        return path[1]
    return path[-1] if _ends_in_viewing(path) else None


def without_viewing(path: Path) -> Path:
    """A path without the viewing at its end."""
    return path[:-1] if _ends_in_viewing(path) else path


def _ends_in_viewing(path: Path) -> bool:
    field = field_at(path)
    return field is not None and field.path[-1] == ANY and _named(field.path, len(path) - 1) == VIEWING


def target_of(path: Path) -> str | None:
    """The target that a path is about, None where it is about none."""
    if path[0] in ("targets", TWINS):
        return path[1]
    return path[1].removeprefix(TARGET) if path[0] == CUES and path[1].startswith(TARGET) else None


def spelling(pattern: str, path: Path) -> Path | None:
    """The pattern divided into names as a reading's path is, None where it does not mean the reading.

    spelling("targets.*.seen", ("targets", "door.seen", "seen")) gives ("targets", "*", "seen").
    """
    words = tuple(pattern.split("."))
    found = _divided(words, path)
    return _divided(words, path[:-1]) if found is None and _ends_in_viewing(path) else found


def _divided(words: Path, path: Path) -> Path | None:
    if not path or not words:
        return None if path or words else ()
    name = path[0]
    for given, count in ((ANY, 1), (name, name.count(".") + 1)):
        if ".".join(words[:count]) == given:
            rest = _divided(words[count:], path[1:])
            if rest is not None:
                return (given, *rest)
    return None


def meant(pattern: str, paths: Iterable[Path]) -> Mapping[Path, Path]:
    """The readings among these that a pattern means, each with the pattern's own names for it.

    None where the pattern can be divided into names in two ways.
    """
    found = _spelt(pattern, tuple(paths))
    return found if len(set(found.values())) == 1 else {}


def _spelt(pattern: str, paths: tuple[Path, ...]) -> Mapping[Path, Path]:
    return _spellings(paths).of(pattern)


class _Spellings:
    """What patterns mean among these readings. Without a "*", that is looked up and not searched, so that
    a limit on each of many targets costs no more for their number."""

    def __init__(self, paths: tuple[Path, ...]) -> None:
        self._by_group: dict[str, list[Path]] = {ANY: list(paths)}
        self._by_words: dict[str, list[tuple[Path, Path]]] = {}
        self._found: dict[str, Mapping[Path, Path]] = {}
        for path in paths:
            self._by_group.setdefault(path[0], []).append(path)
            for names in (path, path[:-1]) if _ends_in_viewing(path) else (path,):
                self._by_words.setdefault(".".join(names), []).append((path, names))

    def of(self, pattern: str) -> Mapping[Path, Path]:
        """Each reading that a pattern means, with the pattern's own names for it."""
        if pattern not in self._found:
            words = pattern.split(".")
            if ANY in words:
                each = ((path, spelling(pattern, path)) for path in self._by_group.get(words[0], ()))
                spelt = {path: names for path, names in each if names is not None}
            else:
                spelt = dict(self._by_words.get(pattern, ()))
            self._found[pattern] = MappingProxyType(spelt)
        return self._found[pattern]


@once_for_each(kept=8)
def _spellings(paths: tuple[Path, ...]) -> _Spellings:
    return _Spellings(paths)


@once_for_each(kept=8)
def paths_of(study: Study) -> tuple[Path, ...]:
    """Every reading that the study's results have, all viewings, places and variants together."""
    names = _names(study)
    fields = [field for field in FIELDS if field.path[0] != SUBJECT or study.shows_subject]
    return tuple(path for field in fields for path in _filled(field.path, names))


def in_play(study: Study, kind: str) -> list[str]:
    """The study's viewings or places ("viewing", "place"): those that are swept, else all."""
    swept = [
        name for axis in ("rows", "columns", "pages") for name in getattr(study.sweep, axis).get(kind, ())
    ]
    named = study.viewings if kind == VIEWING else study.places
    return [one.name for one in named if not swept or one.name in swept]


def kinds_of(paths: Iterable[Path]) -> frozenset[str]:
    """The families of readings, by name, that hold these."""
    fields = {field.path for field in map(field_at, paths) if field is not None}
    return frozenset(kind.name for kind in KINDS if any(field.path in fields for field in kind.fields))


def fields_of(paths: Iterable[Path]) -> frozenset[str]:
    """The fields that these readings are of, by names with dots: "targets.*.seen"."""
    return frozenset(".".join(field.path) for field in map(field_at, paths) if field is not None)


def complaint(pattern: str, study: Study) -> str | None:
    """Why a pattern means no reading of the study, with the nearest that does; None where it means one."""
    paths = paths_of(study)
    spelt = list(dict.fromkeys(_spelt(pattern, paths).values()))
    if len(spelt) == 1:
        return None
    if spelt:
        one, other = (" > ".join(names) for names in spelt[:2])
        return f"it can be read as {one} and as {other}; give what has a dot in its name another one."
    if pattern.partition(".")[0] == SUBJECT and study.camera.first_person:
        return "the camera is at the subject's eyes, so there is no such reading; take this out."
    if pattern.partition(".")[0] == SUBJECT and not study.shows_subject:
        return "the study shows no subject, so there is no such reading; add a [subject], or take this out."
    names = _names(study)
    forms = [form for field in FIELDS for form in dict.fromkeys((field.path, _short(field.path)))]
    for form in forms:
        found = re.fullmatch(_expression(form), pattern)
        said = _wrong_name(form, found.groups(), names) if found else None
        if said is not None:
            return said
    joined = [".".join(form) for form in forms]
    last = {form[-1]: ".".join(form) for form in reversed(forms) if form[-1] != ANY}
    near = nearest(pattern, joined)
    by_last = nearest(pattern.rpartition(".")[2], list(last))
    if near is None and by_last is None:
        return "that is not a reading; docs/readings.md lists them."
    return f"that is not a reading; did you mean {ticked(near or last[by_last or ''])}?"


def paths_meant(option: str, pattern: str, study: Study) -> list[Path]:
    """The readings that a pattern on the command line means; StudyWrong, naming the option, for none."""
    said = complaint(pattern, study)
    if said is not None:
        raise StudyWrong(f"{option}: {said}")
    return list(meant(pattern, paths_of(study)))


def _names(study: Study) -> Mapping[str, Sequence[str]]:
    """What may stand for "*" in a path, by what goes before it (see `_named`)."""
    targets, gaps = [target.name for target in study.target], [gap.name for gap in study.gap]
    primary = [target.name for target in study.target if target.role == "primary"]
    return {
        "targets": targets,
        SUBJECTS: [one.name for one in study.subjects] if study.others else [],
        "gaps": gaps,
        VIEWING: in_play(study, VIEWING),
        TWINS: targets,
        CUES: [*map(gap_name, gaps), *map(target_name, primary)],
        APEX: gaps,
        COVERS: [*map(cover_name, targets), *map(gap_name, gaps)],
        **FIXED_NAMES,
    }


def _named(path: Path, k: int) -> str:
    """What the "*" at `k` of a field's path is a name of: all that goes before it, or a viewing's."""
    named = path[0] in ("targets", SUBJECTS)
    return VIEWING if path[0] == SUBJECT or (named and k > 1) else ".".join(path[:k])


def _short(path: Path) -> Path:
    """A field's path without the viewing at its end."""
    return path[:-1] if path[-1] == ANY and _named(path, len(path) - 1) == VIEWING else path


def _filled(path: Path, names: Mapping[str, Sequence[str]]) -> list[Path]:
    """A field's path with all names that may stand for its "*"."""
    found: list[Path] = [()]
    for k, part in enumerate(path):
        words = names[_named(path, k)] if part == ANY else (part,)
        found = [(*start, word) for start in found for word in words]
    return found


def _expression(path: Path) -> str:
    parts = ("(.+)" if part == ANY else rf"(?:{re.escape(part)}|\*)" for part in path)
    return r"\.".join(parts)


def _wrong_name(form: Path, given: Sequence[str], names: Mapping[str, Sequence[str]]) -> str | None:
    """What is wrong with the first name in a pattern of this form that the study does not have.

    given: what stands in the pattern for each "*" of the form.
    """
    stars = [k for k, part in enumerate(form) if part == ANY]
    for k, name in zip(stars, given, strict=True):
        group = _named(form, k)
        known = names[group]
        if not known:
            return f"the study has {LACKS[group]}, so there is no such reading; add one, or take this out."
        if name == ANY or name in known:
            continue
        if not PART.search(name):
            return unknown_word(name, known, f"a name under {group} in this study")
        hits = like(known, name)
        near = hits[0] if len(hits) == 1 else ANY if hits else nearest(name, known) or ANY
        whole = dict(zip(stars, given, strict=True)) | {k: near}
        path = ticked(".".join(whole.get(at, part) for at, part in enumerate(form)))
        return f"{ticked(name)} is no name, and * stands for a whole one only; did you mean {path}?"
    return None
