"""A record as plain text of about ten lines, for tickets that strip pictures."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import cast

from stationpoint.base.words import (
    DEGREE,
    angles,
    counted,
    decision_words,
    degrees,
    metres,
    number,
    pitch_words,
    plain,
    yaw_words,
)
from stationpoint.readings import told_words
from stationpoint.record.record import Json, Record, writable
from stationpoint.study import HERE

MOST_VARIANTS = 5
NOT_SWEPT = "no variant of the sweep has that key"
CAUTION = (
    "Numbers are geometry for the screens and seats named, not a test with players: "
    "they rank set-ups, they prove none."
)
Group = Mapping[str, Json]


def ticket_text(
    whole: Record,
    digest: str,
    answer: str = "",
    binds: Mapping[str, str] | None = None,
    most_variants: int = MOST_VARIANTS,
    notes: Mapping[str, str] | None = None,
    cameras: Sequence[str] = (),
) -> str:
    """Title, answer, decision, cameras, what all variants share, a line a variant, record hash, caution.

    digest: the record's hash. binds: variant label -> the limit that binds, in words. notes: variant label ->
    what must be said of it besides. cameras: a line each, where they are judged more than once.
    With a brief the best variants by worst margin come first; else the sweep's own order stands. Variants,
    verdicts and rows are each gone through once, and may be read meanwhile.
    """
    parts: dict[str, list[str]] = {}
    remarks: dict[str, str] = {}
    for one in cast(Iterable[Group], whole["variants"]):
        label = str(one["id"])
        parts[label] = _set_up(cast(Group, one["settings"]))
        if "note" in one:
            remarks[label] = f"note: {_one_line(str(one['note']))}"
    verdicts = {
        str(one["variant"]): {name: one[name] for name in ("holds", "score")}
        for one in cast(Iterable[Group], whole["verdicts"])
    }
    order = sorted(parts, key=lambda label: -_score(verdicts.get(label)))
    shown = order[:most_variants]
    rows: dict[str, Group] = {}
    places: dict[str, dict[str, None]] = {}
    for row in cast(Iterable[Group], whole["rows"]):
        label = str(row["variant"])
        places.setdefault(label, {})[str(row["place"])] = None
        if label in shown:
            rows.setdefault(label, row)
    for label, at in _only_places(places).items():
        parts[label] += at
    shared = [part for part in next(iter(parts.values()), []) if all(part in some for some in parts.values())]
    title = str(cast(Group, whole["study"])["title"]) or "Untitled study"
    lines = [_one_line(title)]
    if answer:
        lines.append(_one_line(answer))
    decision = cast(Group, whole["study"]).get("decision")
    if isinstance(decision, dict):
        lines.append(_decision(decision, parts, shared, verdicts, binds or {}))
    if cameras:
        others = [f"{len(cameras) - most_variants} more"] if len(cameras) > most_variants else []
        lines.append(f"Cameras: {'; '.join([*map(_one_line, cameras[:most_variants]), *others])}.")
    if shared:
        whose = "The variant" if len(parts) == 1 else f"All {len(parts)} variants"
        lines.append(f"{whose}: {', '.join(shared)}.")
    for label in shown:
        own = [part for part in parts[label] if part not in shared]
        told = [
            ", ".join(own),
            _verdict(verdicts.get(label), (binds or {}).get(label, "")),
            *_readings(rows.get(label, {})),
            remarks.get(label, ""),
            _one_line((notes or {}).get(label, "")),
        ]
        lines.append(f"{label}: {'; '.join(part for part in told if part)}.")
    rest = len(parts) - len(shown)
    more = f" {counted(rest, 'more variant')} in it." if rest else ""
    lines += [f"Record {digest}.{more}", CAUTION]
    return writable("\n".join(lines) + "\n")


def _only_places(places: Mapping[str, Mapping[str, None]]) -> dict[str, list[str]]:
    """Variant label -> "at porch", of variants that are judged at one place each where there are several.
    places: of each variant, by label."""
    if len({place for own in places.values() for place in own}) < 2:
        return {}
    return {
        label: [HERE if HERE in own else f"at {_one_line(next(iter(own)))}"]
        for label, own in places.items()
        if len(own) == 1
    }


def _decision(
    decision: Group,
    parts: Mapping[str, Sequence[str]],
    shared: Sequence[str],
    verdicts: Mapping[str, Group],
    binds: Mapping[str, str],
) -> str:
    """The decision in one line, with what the brief says of its variant, at that one's own places, or that
    the sweep has no such one."""
    by, on, because = (str(decision.get(name) or "") for name in ("by", "on", "because"))
    label = decision["variant"]
    if not isinstance(label, str):
        return _one_line(f"Chosen: {decision_words(str(decision['chosen']), by, on, because)}; {NOT_SWEPT}.")
    own = [part for part in parts.get(label, ()) if part not in shared]
    words = decision_words(", ".join([label, *own]), by, on, because).rstrip(".")
    verdict = verdicts.get(label)
    if verdict is not None and verdict["holds"] is not None:
        words += f"; it {_verdict(verdict, binds.get(label, ''))}"
    return _one_line(f"Chosen: {words}.")


def _one_line(words: str) -> str:
    return " ".join(words.split())


def _score(verdict: Group | None) -> float:
    score = None if verdict is None else verdict["score"]
    return score if isinstance(score, (int, float)) else 0.0


def _set_up(settings: Group) -> list[str]:
    """A variant's settings as a person says them."""
    found = {name: value for name, value in settings.items() if isinstance(value, (int, float))}
    parts = [str(settings["projection"])]
    if "focal_mm" in found:
        h_deg, v_deg = found.get("hfov_deg"), found.get("vfov_deg")
        seen = f" ({angles(h_deg, v_deg)}{DEGREE})" if h_deg is not None and v_deg is not None else ""
        parts.append(f"{plain(found['focal_mm'], 1)} mm{seen}")
    if "view_height_m" in found:
        parts.append(f"view {metres(found['view_height_m'])} high")
    if "distance_m" in found and "focal_mm" in found:
        parts.append(f"{metres(found['distance_m'])} away")
    parts += [words(found[name]) for name, words in _TURNS.items() if name in found]
    if plain(found.get("roll_deg", 0.0), 1) != "0":
        parts.append(f"roll {degrees(found['roll_deg'])}")
    offset = settings.get("offset")
    if isinstance(offset, list):
        x, y = (number(cast(float, value), 2) for value in offset)
        if (x, y) != ("0.00", "0.00"):
            parts.append(f"offset {x}, {y} by {settings.get('offset_by')}")
    return [*parts, str(settings["aspect"])]


_TURNS = {"pitch_deg": pitch_words, "yaw_deg": yaw_words}


def _verdict(verdict: Group | None, binds: str) -> str:
    """ "holds", or the limit that binds, in words."""
    if verdict is None or verdict["holds"] is None:
        return ""
    if verdict["holds"]:
        return "holds"
    return f"fails: {_one_line(binds)}" if binds else "fails"


def _readings(row: Group) -> list[str]:
    """The most telling readings of a row: the first gap, the first two targets."""
    told = _boom(row)
    for name, entry in list(_entries(row, "gaps"))[:1]:
        true, flat = entry.get("true_span_m"), entry.get("flat_span_m")
        if isinstance(true, (int, float)) and isinstance(flat, (int, float)):
            verdict = entry.get("verdict")
            said = f" ({verdict})" if isinstance(verdict, str) else ""
            told.append(f"{_one_line(name)} {metres(true)} looks {metres(flat)}{said}")
        told += _cues(row, f"gap:{name}")
    for name, entry in list(_entries(row, "targets"))[:2]:
        seen = entry.get("seen")
        if isinstance(seen, (int, float)):
            told.append(f"{_one_line(name)} {number(100.0 * seen, 0)} % seen")
    return told


def _cues(row: Group, pair: str) -> list[str]:
    """How many cues of a pair read: "5 cues tell which is farther, 4 how far"."""
    found = dict(_entries(row, "cues")).get(pair, {})
    order, amount = found.get("order"), found.get("amount")
    return [told_words(order, amount)] if isinstance(order, int) and isinstance(amount, int) else []


def _boom(row: Group) -> list[str]:
    """What the scene does to the boom: "pulled to 3.06 m", or what stands between camera and subject."""
    boom = row.get("boom")
    to_m, by = (boom.get("pulled_to_m"), boom.get("blocked_by")) if isinstance(boom, dict) else (None, None)
    if isinstance(to_m, (int, float)):
        return [f"pulled to {number(to_m, 2)} m"]
    if not isinstance(boom, dict) or not isinstance(by, str):
        return []
    inside = boom.get("inside")
    return [f"camera inside {_one_line(by)}" if inside == by else f"{_one_line(by)} stands between"]


def _entries(row: Group, group: str) -> list[tuple[str, Group]]:
    entries = row.get(group)
    if not isinstance(entries, dict):
        return []
    return [(name, entry) for name, entry in entries.items() if isinstance(entry, dict)]
