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

MOST_LABELS, MOST_NAMES = 4, 6
LEAST_GAP_M = 0.01  # a shorter one is a slip of the pen


def warnings_of(results: Sequence[Result], scene: Scene) -> tuple[str, ...]:
    """One line a finding, with the variants (and places) where it was found.

    scene: the study's. A camera inside the solid that the subject is inside too, as in a room's shell,
    is nothing odd.
    """
    shells: dict[tuple[str, tuple[float, float, float]], bool] = {}

    def holds_both(name: str, result: Result) -> bool:
        key = (name, result.setup.anchor_m)
        if key not in shells:
            shells[key] = name in scene and holds_body(scene.node(name), result.setup)
        return shells[key]

    every = {_where(result): None for result in results}
    found: dict[str, dict[str, None]] = {}
    nowhere = _in_no_picture(results)
    for result in results:
        name = result.reading.values.get(("framing", "camera_inside"))
        is_odd = isinstance(name, str) and not holds_both(name, result)
        within = [f'the camera is inside "{name}"'] if is_odd else []
        for words in (*within, *_findings(result, nowhere)):
            found.setdefault(words, {})[_where(result)] = None
    lines = [f"{_which(list(where), len(every))}: {words}." for words, where in found.items()]
    lines += [
        f"{quoted_value(name)} is in no picture, but off it or hidden in all {len(every)}; turn the camera, "
        "or take the target out."
        for name in nowhere
    ]
    return tuple(lines)


def _in_no_picture(results: Sequence[Result]) -> tuple[str, ...]:
    """Targets that not one of several pictures shows."""
    shown: dict[str, bool] = {}
    for result in results if len({_where(result) for result in results}) > 1 else ():
        for path in result.reading.values:
            if path[0] == "targets" and path[2:] == ("depth_m",):
                shown[path[1]] = shown.get(path[1], False) or not _is_unseen(result, path[1])
    return tuple(name for name, is_shown in shown.items() if not is_shown)


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
    middle = values.get(("targets", name, "screen_xy"))
    sizes = [value for path, value in values.items() if path[:3] == ("targets", name, "size_px")]
    size = next((value for value in sizes if isinstance(value, tuple)), (0.0, 0.0))
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


def _which(where: Sequence[str], count: int) -> str:
    if len(where) == count > 1:
        return "Both variants" if count == 2 else f"All {counted(count, 'variant')}"
    if len(where) <= MOST_LABELS + 1:
        return listed(where)
    return f"{', '.join(where[:MOST_LABELS])} and {len(where) - MOST_LABELS} more"


def _findings(result: Result, nowhere: Sequence[str]) -> Iterator[str]:
    """What is odd in one result. nowhere: targets of which more is told."""
    yield from result.setup.notes
    values = result.reading.values
    subject = values.get(("framing", "subject_xy"), (0.5, 0.5))
    if subject is None and not result.setup.at_anchor:
        yield "the subject is behind the camera"
    elif isinstance(subject, tuple) and not _in_picture(subject):
        yield "the subject is off the picture"
    yield from _too_small(values)
    for path, value in values.items():
        if path[0] != "targets" or path[2:] != ("depth_m",) or path[1] in nowhere:
            continue
        in_frame = values.get(("targets", path[1], "in_frame"))
        if isinstance(value, float) and value <= 0.0 and not in_frame:
            yield f'"{path[1]}" is behind the camera'
        elif in_frame == 0.0:
            yield f'"{path[1]}" is off the picture'
        elif values.get(("targets", path[1], "seen")) == 0.0 and values.get(
            ("targets", path[1], "reserved_cover")
        ):
            yield f'"{path[1]}" lies wholly under a reserved area'


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
