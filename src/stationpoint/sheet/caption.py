"""Captions: three lines under a picture; what fits is set, the least telling is left out first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from stationpoint.base.look import INK
from stationpoint.base.words import DEGREE, angles, degrees, number, pitch_words, plain, yaw_words
from stationpoint.camera import Setup
from stationpoint.ink import (
    Shape,
    Weight,
    ascent_px,
    cap_height_px,
    cross,
    cut_text,
    shorter_names,
    text_shape,
    text_width,
    tick,
)
from stationpoint.readings import CUE_RULES, Result, Value
from stationpoint.sheet.cues import grade_of, measured
from stationpoint.sheet.equal import Same
from stationpoint.sheet.flag import Flag, Stated
from stationpoint.sheet.reserved import covered_words
from stationpoint.sheet.scale import Scale
from stationpoint.sheet.wording import (
    arcmin_words,
    away_words,
    boom_words,
    caption_words,
    confused,
    confused_words,
    gap_spans,
)
from stationpoint.study import HERE, Study

LINES = 3
MOST_READINGS = 2  # of the brief, in a caption
SIZE, LEADING, APART = 17, 23, 15
NAME_SHARE = 0.4
HALF, LEAST_COVER = 0.5, 0.25  # of a target seen less than that, what hides this much is named
NEEDS_A_CUE, UNSEEN = "needs a cue", "unseen"


@dataclass(frozen=True, slots=True)
class CaptionPart:
    """A piece of a caption. rank: parts of the highest rank are left out first; 0 always stays. tail:
    what follows right after the words, never cut. shorter: words that it takes before it is left out. name:
    what the words begin with, cut before anything else of them is. holds: whether a tick or a cross
    follows."""

    words: str
    weight: Weight = "regular"
    rank: int = 0
    tail: tuple[tuple[str, Weight], ...] = ()
    shorter: tuple[str, ...] = ()
    name: str = ""
    holds: bool | None = None


def caption_height(scale: Scale) -> int:
    """Height of a whole caption in pixels."""
    return LINES * leading(scale)


def leading(scale: Scale) -> int:
    """From one baseline to the next."""
    return round(scale.type(SIZE) * LEADING / SIZE)


def caption_lines(
    result: Result,
    study: Study,
    swept: Sequence[str],
    scale: Scale,
    width: float,
    flag: Flag | None = None,
    same: Same | None = None,
    said_of_all: frozenset[str] = frozenset(),
    unlabelled: int = 0,
    fails: str = "",
) -> list[list[CaptionPart]]:
    """The caption's lines as parts, before fitting. swept: the fields that the headings show. width: the
    cell's; a name takes at most two fifths of it. said_of_all: confused directions that the header
    tells: their pairs. unlabelled: false contacts that are stitched without a word. fails: "fails at 3
    of 40", places, viewings and lights, where the camera is one cell."""
    size = scale.type(SIZE)
    label = CaptionPart(result.variant.label, "bold")
    if same is not None:
        return [[label, CaptionPart(f"same picture as {same.label}", "semibold")], [CaptionPart(same.reason)]]
    values = caption_words(result.variant, swept, result.setup.camera.parallel)
    first = [
        label,
        *([CaptionPart(values, rank=3)] if values else []),
        *_place_parts(result, study, fails, size, width),
        *_gap_parts(result, study, size, width),
    ]
    alike = [confused_words(k, swap, swap) for k, swap in confused(result).items() if k not in said_of_all]
    camera = _camera_parts(result, study, swept, scale, alike)
    if unlabelled:
        words = f"and {unlabelled} more false contact{'s' * (unlabelled > 1)}"
        camera.insert(1, CaptionPart(words, rank=1, shorter=(f"and {unlabelled} more",)))
    head = [first, camera] if len(first) > 1 else [[label, *camera]]
    return [*head, _brief_parts(result, study, flag, size, width, scale.space(APART))]


def _place_parts(result: Result, study: Study, fails: str, size: int, within_px: float) -> list[CaptionPart]:
    """Which place is drawn where several are judged, how many others are, and at how many it fails:
    "at ledge, 2 others judged: fails at 1 of 3"."""
    others = len(study.places) - 1
    if result.variant.place is not None or not others:
        return [CaptionPart(fails, "semibold", rank=1)] if fails and study.options.ends else []
    place = cut_text(result.place.name, size, "semibold", NAME_SHARE * within_px)
    name = HERE if result.place.name == HERE else f"at {place}"
    said = f"{name}, {others} other{'s' * (others > 1)} judged"
    if not fails:
        return [CaptionPart(said, "semibold", rank=1, shorter=(name,))]
    return [CaptionPart(f"{said}: {fails}", "semibold", rank=1, shorter=(f"{name}: {fails}", name))]


def _under(under: Mapping[str, str], name: str, size: int, within_px: float) -> tuple[str, str]:
    """What is said of a thing under a reserved area: after what is seen of it, and alone with its name."""
    if name not in under:
        return "", ""
    return f", {under[name]}", f"{cut_text(name, size, 'semibold', within_px)} {under[name]}"


def _gap_parts(result: Result, study: Study, size: int, within_px: float) -> list[CaptionPart]:
    """Each gap's length, what it looks like, and what a player makes of it: "sure, to 0.12 m"."""
    parts = []
    for k, gap in enumerate(study.gap):
        lengths = gap_words(result, gap.name)
        if not lengths:
            continue
        name = cut_text(gap.name, size, "regular", NAME_SHARE * within_px)
        tail = verdict_words(result, gap.name)
        words = f"{name} {lengths}" + (": " if tail else "")
        shorter = (f"{name} {lengths.partition(' ')[0]} m: ", f"{name}: ") if tail else (name,)
        parts.append(CaptionPart(words, "regular", rank=k + 1, tail=tail, shorter=shorter, name=name))
    return parts


def gap_words(result: Result, name: str) -> str:
    """A gap's lengths: true, read flat, and read as if on one level where that is another: "4.1 m looks
    0.3 m, if level 1.0 m"; "" without them."""
    spans = gap_spans(result, name)
    if spans is None:
        return ""
    true, flat, ground = spans
    return true + (f" looks {flat}" if flat else "") + (f", if level {ground}" if ground else "")


def verdict_words(result: Result, name: str) -> tuple[tuple[str, Weight], ...]:
    """What a player makes of a gap, in bold, with the smallest change that could be told, or the cues
    that it takes: "sure, to 0.12 m"; "needs a cue: S H"; nothing without a verdict."""
    verdict, tell = _value(result, "gaps", name, "verdict"), _value(result, "gaps", name, "tell_m")
    if not isinstance(verdict, str):
        return ()
    if verdict == NEEDS_A_CUE and measured(result, f"gap:{name}"):
        cues = [cue for cue in CUE_RULES.values() if cue.gives in ("order", "amount")]
        tags = [cue.letter for cue in cues if grade_of(result, f"gap:{name}", cue) == "reads"]
        return ((verdict, "bold"), (f": {' '.join(tags) or 'none reads'}", "regular"))
    if isinstance(tell, float | int) and verdict not in ("lies", UNSEEN):
        return ((verdict, "bold"), (f", to {number(float(tell), 2)} m", "regular"))
    return ((verdict, "bold"),)


def _camera_parts(
    result: Result, study: Study, swept: Sequence[str], scale: Scale, alike: Sequence[str]
) -> list[CaptionPart]:
    """Lens or view height, and how the camera stands; directions that are drawn alike come before that."""
    setup = result.setup
    parts: list[CaptionPart] = []
    if setup.hfov_deg is not None and setup.vfov_deg is not None and setup.dfov_deg is not None:
        diagonal = f"diagonal {number(setup.dfov_deg)}{DEGREE}"
        flat = angles(setup.hfov_deg, setup.vfov_deg)
        parts.append(CaptionPart(f"{flat}, {diagonal}", shorter=(f"{flat}{DEGREE}",)))
    elif setup.view_height_m is not None:
        parts.append(CaptionPart(f"view {plain(setup.view_height_m, 2)} m high"))
    parts += [CaptionPart(words, "semibold", rank=k) for k, words in enumerate(alike)]
    boom = boom_words(result, study)
    if boom:
        parts.insert(1, CaptionPart(boom, "semibold", rank=1))
    if (
        setup.asked_eye_m is None
        and setup.hfov_deg is not None
        and setup.distance_m is not None
        and "distance_m" not in swept
    ):
        parts.append(CaptionPart(away_words(setup), rank=1))
    if setup.oblique_ratio is not None and "oblique_ratio" not in swept:
        parts.append(CaptionPart(f"depth drawn at {plain(setup.oblique_ratio, 2)}", rank=2))
    if not scale.narrow and "pitch_deg" not in swept:
        parts.append(CaptionPart(pitch_words(setup.pitch_deg), rank=3))
    if not scale.narrow and "yaw_deg" not in swept and ("from" in swept or _turned(setup, study)):
        parts.append(CaptionPart(yaw_words(setup.yaw_deg), rank=4))
    if not scale.narrow and "from" in swept and plain(setup.roll_deg, 1) != "0":
        parts.append(CaptionPart(f"roll {degrees(setup.roll_deg)}", rank=4))
    return parts


def _turned(setup: Setup, study: Study) -> bool:
    """Whether a camera's yaw is another than the study writes; a file's camera has its own."""
    return study.camera.from_ is None and abs(setup.yaw_deg - study.camera.yaw_deg) > 0.05


def _brief_parts(
    result: Result, study: Study, flag: Flag | None, size: int, within_px: float, apart_px: float
) -> list[CaptionPart]:
    """What the brief bounds besides what stands beside the flag, at most two readings, the failing one
    semibold; whose the second one is is said once where it is the first one's too. What is seen of other
    targets where that leaves room."""
    others = flag.others[:MOST_READINGS] if flag is not None else ()
    whole, short = ([_stated(one, words) for one in others] for words in ("words", "short"))
    of_one = len({one.words.removesuffix(one.short) for one in others}) == 1
    tries = (whole, *([[*whole[:1], *short[1:]]] if of_one else []))
    said = next((parts for parts in tries if _width(parts, size, apart_px) <= within_px), whole[:1])
    seen = _target_parts(result, study, flag, size, within_px)
    told = [one.words for one in others[: len(said)]]
    seen = [part for part in seen if not any(words.startswith(part.name or "\0") for words in told)]
    if len(said) == MOST_READINGS:
        seen = [part for part in seen if part.weight == "semibold"]
    return [*said, *(replace(part, rank=part.rank + 1) if said else part for part in seen)]


def _stated(one: Stated, words: str) -> CaptionPart:
    weight: Weight = "regular" if one.holds else "semibold"
    return CaptionPart(getattr(one, words) or one.words, weight, holds=one.holds)


def _target_parts(
    result: Result, study: Study, flag: Flag | None, size: int, within_px: float
) -> list[CaptionPart]:
    """What is seen of the targets and how big, primary ones first, the worst seen first among them."""
    order = ("primary", "secondary", "tertiary")
    shares = []
    for k, target in enumerate(study.target):
        share = _value(result, "targets", target.name, "seen")
        if isinstance(share, float | int):
            shares.append((order.index(target.role), float(share), k, target.name))
    under = covered_words(result, study)
    parts = []
    if study.subject is not None and study.subject.name in under:
        alone = _under(under, study.subject.name, size, NAME_SHARE * within_px)[1]
        parts.append(CaptionPart(alone, "semibold"))
    for rank, (_, share, _, name) in enumerate(sorted(shares)):
        under_it, alone = _under(under, name, size, NAME_SHARE * within_px)
        weight: Weight = "semibold" if under_it else "regular"
        shown = rank if weight == "regular" else 0
        big = _size(result, name) if share > 0 else ""
        short = cut_text(name, size, weight, NAME_SHARE * within_px)
        words = _seen(share)
        behind = _behind(result, name, share, size, 0.5 * NAME_SHARE * within_px)
        if flag is not None and flag.limit and flag.binding == ("targets", name, "seen"):  # said at the flag
            words, behind, big = "", behind.removeprefix(", "), big if behind else big.removeprefix(", ")
            if not behind and not big and not under_it:
                continue
        plainer = (
            (f"{short} {words}{big}",) if behind and words and not under_it else (alone,) if under_it else ()
        )
        whole = f"{short} {words}{under_it or behind}{big}"
        parts.append(CaptionPart(whole, weight, rank=shown, shorter=plainer, name=short))
    return parts


def _behind(result: Result, name: str, share: float, size: int, within_px: float) -> str:
    """What hides a target of which less than half is seen, where that is one thing: ", behind crane"."""
    covers = _value(result, "targets", name, "hidden_by")
    if share >= HALF or not isinstance(covers, Mapping) or not covers:
        return ""
    most, hidden = next(iter(covers.items()))
    if not isinstance(hidden, float | int) or hidden < LEAST_COVER:
        return ""
    return f", behind {cut_text(most, size, 'regular', within_px)}"


def _seen(share: float) -> str:
    if share <= 0:
        return "not seen"
    return (
        f"seen {number(min(99.0, share * 100) if share < 1 else 100.0, 0)} %"
        if share >= 0.005
        else "seen under 1 %"
    )


def _size(result: Result, name: str) -> str:
    viewing = result.seats[0].name if result.seats else ""
    found = _value(result, "targets", name, "size_arcmin", viewing)
    if isinstance(found, tuple) and len(found) == 2 and isinstance(found[1], float | int):
        return f", {arcmin_words(float(found[1]))} high"
    return ""


def _value(result: Result, *path: str) -> Value:
    return result.reading.values.get(path)


def fitted(parts: Sequence[CaptionPart], size: int, within_px: float, apart_px: float) -> list[CaptionPart]:
    """The parts that fit in one line, in their order: the highest rank goes first, once its shorter
    words do not fit either; if even the shortest rest is too wide, its last part is cut."""
    kept = list(parts)
    while len(kept) > 1 and _width(kept, size, apart_px) > within_px:
        rank = max(part.rank for part in kept)
        those = [k for k, part in enumerate(kept) if part.rank == rank and (rank or part.shorter)]
        if not those:
            break
        part = kept.pop(those[-1])
        if part.shorter:
            kept.insert(those[-1], replace(part, words=part.shorter[0], shorter=part.shorter[1:]))
    while len(kept) > 1 and _width(kept[:-1], size, apart_px) + apart_px + 3 * size > within_px:
        kept.pop()
    over = _width(kept, size, apart_px) - within_px
    if kept and over > 0:
        last = kept[-1]
        room = text_width(last.words, size, last.weight) - over
        kept[-1] = replace(last, words=_words_that_fit(last, size, room))
    return kept


def _words_that_fit(part: CaptionPart, size: int, within_px: float) -> str:
    """A part's words, its name cut as far as its numbers need; all of them cut where that is not enough."""
    rest = part.words.removeprefix(part.name)
    tries = (name + rest for name in shorter_names(part.name) if part.name and rest != part.words)
    fitting = (words for words in tries if text_width(words, size, part.weight) <= within_px)
    return next(fitting, None) or cut_text(part.words, size, part.weight, within_px)


def _width(parts: Sequence[CaptionPart], size: int, apart_px: float) -> float:
    runs = [run for part in parts for run in ((part.words, part.weight), *part.tail)]
    marks = sum(part.holds is not None for part in parts) * _mark_px(size)
    words_px = sum(text_width(words, size, weight) for words, weight in runs)
    return words_px + marks + apart_px * max(0, len(parts) - 1)


def _mark_px(size: int) -> float:
    """Room for a tick or a cross after words, with the space before it."""
    return 0.4 * size + cap_height_px(size)


def caption_shapes(
    lines: Sequence[Sequence[CaptionPart]], top: float, width: float, scale: Scale
) -> list[Shape]:
    """The lines as texts, the first one's letters beginning at `top`."""
    size, lead, apart = scale.type(SIZE), leading(scale), scale.space(APART)
    shapes: list[Shape] = []
    for k, parts in enumerate(lines[:LINES]):
        x, y = 0.0, top + ascent_px(size) * 0.78 + k * lead
        for part in fitted(parts, size, width, apart):
            for words, weight in ((part.words, part.weight), *part.tail):
                one = text_shape((x, y), words, size, weight)
                shapes.append(one)
                x += one.width_px
            if part.holds is not None:
                at, cap = x + 0.4 * size, cap_height_px(size)
                line = scale.line(2.0)
                shapes += [tick(at, y, cap, line, INK)] if part.holds else cross(at, y, cap, line, INK)
                x += _mark_px(size)
            x += apart
    return shapes
