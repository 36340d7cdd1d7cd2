"""What a person should know of the results before believing a sheet: a few plain lines, each once."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from stationpoint.base.allowed import quoted_value
from stationpoint.base.words import counted, listed, plain
from stationpoint.ink import missing
from stationpoint.readings import Path, Result, Value
from stationpoint.run.told import holds_body
from stationpoint.scene import Scene
from stationpoint.study import Study

TARGETS = "targets"
RESERVED_COVER: Path = (TARGETS, "*", "reserved_cover")
SEEN_OF_TARGETS: tuple[Path, ...] = (
    (TARGETS, "*", "in_frame"),
    (TARGETS, "*", "seen"),
    RESERVED_COVER,
)
RESTED_ON: tuple[Path, ...] = (
    (TARGETS, "*", "depth_m"),
    (TARGETS, "*", "screen_xy"),
    (TARGETS, "*", "size_px", "*"),
    *SEEN_OF_TARGETS,
    ("framing", "subject_xy"),
    ("framing", "camera_inside"),
    ("gaps", "*", "true_span_m"),
    ("gaps", "*", "landing_seen"),
)
MOST_LABELS, MOST_NAMES = 4, 6
LEAST_GAP_M = 0.01  # a shorter one is a slip of the pen


def warnings_of(results: Sequence[Result], scene: Scene) -> tuple[str, ...]:
    """One line a finding, with the variants (and places) where it was found.

    scene: the study's. A camera inside the solid that the subject is inside too, as in a room's shell,
    is nothing odd.
    """
    found = Warnings(scene)
    for result in results:
        found.add(result)
    return found.lines


class Warnings:
    """The warnings of results that come one after the other, those of one picture's shapes together: what
    is kept of them does not grow with their number. scene: the study's. by_size: whether a target that
    lies far off the picture is told as such where nobody asked how much of it is in it."""

    def __init__(self, scene: Scene, by_size: bool = False) -> None:
        self._scene, self._by_size = scene, by_size
        self._shells: dict[tuple[str, tuple[float, float, float]], bool] = {}
        self._every = _Spots()
        self._found: dict[tuple[str, str | None], _Spots] = {}  # by words and the target that they are of
        self._shown: dict[str, bool] = {}

    def add(self, result: Result) -> None:
        """Take a result into account."""
        where, values = _where(result), result.reading.values
        self._every.add(where)
        name = values.get(("framing", "camera_inside"))
        is_odd = isinstance(name, str) and not self._holds_both(name, result)
        within = [(f'the camera is inside "{name}"', None)] if is_odd else []
        for found in (*within, *_findings(result, self._by_size)):
            self._found.setdefault(found, _Spots()).add(where)
        for path in values:
            if path[0] == "targets" and path[2:] == ("depth_m",):
                is_shown = self._shown.get(path[1], False)
                self._shown[path[1]] = is_shown or not _is_unseen(result, path[1])

    @property
    def lines(self) -> tuple[str, ...]:
        """One line a finding; of a target that not one of several pictures shows, one that says so."""
        count = self._every.count
        nowhere = {name: None for name, is_shown in self._shown.items() if not is_shown and count > 1}
        lines = [
            f"{_which(spots, count)}: {words}."
            for (words, target), spots in self._found.items()
            if target not in nowhere
        ]
        lines += [
            f"{quoted_value(name)} is in no picture, but off it or hidden in all {count}; turn the camera, "
            "or take the target out."
            for name in nowhere
        ]
        return tuple(lines)

    def _holds_both(self, name: str, result: Result) -> bool:
        key = (name, result.setup.anchor_m)
        if key not in self._shells:
            node = self._scene.node(name) if name in self._scene else None
            self._shells[key] = node is not None and holds_body(node, result.setup)
        return self._shells[key]


class _Spots:
    """Where something was found: how often, and the first few places."""

    def __init__(self) -> None:
        self.count, self.first, self._last = 0, list[str](), ""

    def add(self, where: str) -> None:
        if where == self._last:
            return
        self._last = where
        self.count += 1
        if len(self.first) <= MOST_LABELS:
            self.first.append(where)


def _is_unseen(result: Result, name: str) -> bool:
    """Whether a picture does not show a target: it is behind, off or hidden, as far as that was measured.

    Where nothing was drawn it is off where its middle is farther out than it is large.
    """
    values = result.reading.values
    in_frame, depth = values.get(("targets", name, "in_frame")), values.get(("targets", name, "depth_m"))
    if in_frame is not None:
        return in_frame == 0.0 or values.get(("targets", name, "seen")) == 0.0
    if isinstance(depth, float) and depth <= 0.0:
        return True
    return _is_beyond(result, name)


def _is_untold(result: Result, name: str) -> bool:
    """Whether nobody asked how much of a target is in the picture, and it is known how large it is."""
    return (TARGETS, name, "in_frame") not in result.reading.values and _size_px(result, name) is not None


def _size_px(result: Result, name: str) -> tuple[Value, ...] | None:
    values = result.reading.values
    sizes = (values.get((TARGETS, name, "size_px", seat.name)) for seat in result.seats)
    return next((size for size in sizes if isinstance(size, tuple)), None)


def _is_beyond(result: Result, name: str) -> bool:
    """Whether a target's middle lies farther off the picture than it is large."""
    middle = result.reading.values.get((TARGETS, name, "screen_xy"))
    size = _size_px(result, name) or (0.0, 0.0)
    if not isinstance(middle, tuple):
        return False
    beyond = [
        (float(side) / pixels) if isinstance(side, int | float) else 0.0
        for side, pixels in zip(size, result.setup.pixels, strict=True)
    ]
    return any(
        isinstance(at, int | float) and not -more <= at <= 1.0 + more
        for at, more in zip(middle, beyond, strict=True)
    )


def rested_on(study: Study) -> list[Path]:
    """The fields of readings that these warnings look at."""
    return [path for path in RESTED_ON if study.reserved or path != RESERVED_COVER]


def not_set(study: Study, nodes: Iterable[str] = ()) -> tuple[str, ...]:
    """One line where the title or a name has signs that no font at hand has, naming them. nodes: names of
    those that are named in what is drawn."""
    kinds: dict[str, tuple[Any, ...]] = {
        "subject": study.subjects,
        "target": study.target,
        "gap": study.gap,
        "place": study.place,
        "viewing": study.viewing,
    }
    named = {study.title: "the title"}
    for kind, those in kinds.items():
        for one in those:
            named.setdefault(one.name, f"{kind} {quoted_value(one.name)}")
    for name in nodes:
        named.setdefault(name, quoted_value(name))
    found = [says for name, says in named.items() if missing(name)]
    signs = "".join(dict.fromkeys("".join(missing(name) for name in named)))
    if not found:
        return ()
    codes = _few([f"U+{ord(sign):04X}" for sign in signs])
    each, them = ("it", "it") if len(signs) == 1 else ("each", "them")
    return (
        f"No font at hand has {codes} ({counted(len(signs), 'sign')}), in {_few(found)}; a mark is drawn for "
        f'{each}. Name a font that has {them}: fonts = ["FILE.ttf"] in the study, or --font FILE.',
    )


def nodes_told(scene: Scene, record_text: str) -> tuple[str, ...]:
    """Names of nodes that have signs which no font at hand has, and that a record's text tells of."""
    return tuple(name for name in scene.names if missing(name) and name in record_text)


def _few(words: Sequence[str]) -> str:
    more = len(words) - MOST_NAMES
    return listed([*words[:MOST_NAMES], f"{more} more"] if more > 0 else words)


def _where(result: Result) -> str:
    variant, place = result.variant, result.place.name
    label = variant.label if variant.option is None else f"{variant.label} {variant.option.words}"
    return label if place == "here" else f"{label}, {place}" if variant.option else f"{label} at {place}"


def _which(where: _Spots, count: int) -> str:
    if where.count == count > 1:
        return "Both variants" if count == 2 else f"All {counted(count, 'variant')}"
    if where.count <= MOST_LABELS + 1:
        return listed(where.first)
    return f"{', '.join(where.first[:MOST_LABELS])} and {where.count - MOST_LABELS} more"


def _findings(result: Result, by_size: bool) -> Iterator[tuple[str, str | None]]:
    """What is odd in one result, each with the target that is off the picture, or None."""
    yield from ((note, None) for note in result.setup.notes)
    values = result.reading.values
    subject = values.get(("framing", "subject_xy"), (0.5, 0.5))
    if subject is None and not result.setup.at_anchor:
        yield "the subject is behind the camera", None
    elif isinstance(subject, tuple) and not _in_picture(subject):
        yield "the subject is off the picture", None
    yield from ((words, None) for words in _too_small(values))
    for path, value in values.items():
        if path[0] != "targets" or path[2:] != ("depth_m",):
            continue
        in_frame = values.get(("targets", path[1], "in_frame"))
        if isinstance(value, float) and value <= 0.0 and not in_frame:
            yield f'"{path[1]}" is behind the camera', path[1]
        elif in_frame == 0.0 or (by_size and _is_untold(result, path[1]) and _is_beyond(result, path[1])):
            yield f'"{path[1]}" is off the picture', path[1]
        elif values.get(("targets", path[1], "seen")) == 0.0 and values.get(
            ("targets", path[1], "reserved_cover")
        ):
            yield f'"{path[1]}" lies wholly under a reserved area', path[1]


def _too_small(values: Mapping[Path, Value]) -> Iterator[str]:
    """Targets and gaps that are too small to mean anything, and landings over nothing."""
    for path, value in values.items():
        if path[0] == "targets" and path[2:3] == ("size_px",) and isinstance(value, tuple):
            if max(float(side) for side in value if isinstance(side, (int, float))) < 1.0:
                yield f'"{path[1]}" is drawn smaller than a pixel'
        elif path[0] == "gaps" and path[2] == "true_span_m" and isinstance(value, float):
            if value < LEAST_GAP_M:
                yield f'the gap "{path[1]}" is only {plain(value, 6)} m long'
        elif path[0] == "gaps" and path[2] == "landing_seen" and value is None:
            yield f'nothing level lies under the landing of "{path[1]}"'


def _in_picture(at: tuple[object, ...]) -> bool:
    return all(isinstance(part, (int, float)) and -1e-9 <= part <= 1.0 + 1e-9 for part in at)
