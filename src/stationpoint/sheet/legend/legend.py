"""The legend: only what the sheet uses, and all of it, each entry drawn by what draws the mark."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from stationpoint.base.look import GRID_SHARE, GROUND, INK, RGB, ROLE_TINT
from stationpoint.base.words import counted, listed, plain
from stationpoint.ink import (
    Area,
    Group,
    Line,
    Picture,
    Shape,
    Text,
    box,
    cap_height_px,
    text_shape,
    text_width,
)
from stationpoint.sheet.cues import Grade
from stationpoint.sheet.flag import SAYS as FLAG_SAYS
from stationpoint.sheet.flag import Kind, flag_shapes, flag_width
from stationpoint.sheet.headings import balanced, rule
from stationpoint.sheet.legend.cues import Column, cue_columns, grade_column
from stationpoint.sheet.legend.stacks import Block, Spot, depth, stack_lefts, stack_widths, stacked
from stationpoint.sheet.marks import legend_entries
from stationpoint.sheet.marks.drawing import ENTRY_HEIGHT, Entry
from stationpoint.sheet.marks.outline import sample
from stationpoint.sheet.marks.target import dot
from stationpoint.sheet.modes.ladder import Ladder
from stationpoint.sheet.modes.silhouette import EMPTY, FLAT, stripes_sample
from stationpoint.sheet.scale import Scale

HEAD, SIZE, PITCH, LEAD = 18, 16, 27, 20
APART, AFTER_MARK, AFTER_NAME = 40, 16, 9
MOST_WORDS_PX = (340, 280, 230)  # widths at which words may be wrapped, the best first
WORTH_PX = 40.0  # what a smaller one must save
MOST_NAMES, MOST_ENTRIES, MOST_WORDS = 4, 5, 4
GRID_ENTRY, FACES_ENTRY = "ground grid, 1 m", "grid on level faces, 1 m"
HIDES = (0.0, 0.0, 34.0, float(ENTRY_HEIGHT))


@dataclass(frozen=True, slots=True)
class Uses:
    """What a sheet uses: flags, marks and entries drawn, roles with the names that they tint and that they
    outline, steps of a mode. paired: that outlines are on second pictures. flat, sky: that pictures are
    silhouettes, and show sky. grid: the tint under the metre grid. striped: the role of something hidden that
    they show in stripes. said: samples of what captions say, with their meaning. bounded: readings that the
    brief bounds, with theirs. cues_for: the pair that strips are about, "" without strips. grades: that the
    strips show. not_shipped: cues whose aid the game lacks. glance: thresholds from which a cue reads.
    mark_m: length of marks that stand beside the subject."""

    flags: tuple[Kind, ...] = ()
    marks: frozenset[str] = frozenset()
    roles: tuple[tuple[str, tuple[str, ...]], ...] = ()
    outlined: tuple[tuple[str, tuple[str, ...]], ...] = ()
    paired: bool = False
    grid: RGB | None = None
    ladder: Ladder | None = None
    flat: bool = False
    sky: bool = False
    striped: str = ""
    said: tuple[tuple[str, str], ...] = ()
    bounded: tuple[tuple[str, str], ...] = ()
    cues_for: str = ""
    grades: tuple[Grade, ...] = ()
    not_shipped: frozenset[str] = frozenset()
    glance: float = 3.0
    mark_m: float = 1.0


def columns_of(uses: Uses, scale: Scale) -> list[Column]:
    """The groups in order of need: verdict, cues, grades, marks, tints, captions."""
    small = Scale(min(scale.u, 1.0), 1.0, scale.page_t, scale.narrow)
    found = []
    if uses.flags:
        found.append(_verdicts(uses.flags, scale))
    if uses.bounded:
        names, means = zip(*uses.bounded, strict=True)
        found.append(Column("The brief's readings", tuple(((), said) for said in means), 0.0, names))
    if uses.cues_for:
        found += cue_columns(uses.cues_for, uses.not_shipped, small, _lengths(uses))
        found.append(grade_column(uses.grades, uses.glance, small))
    marks = tuple(legend_entries(set(uses.marks), small))
    for start in range(0, len(marks), MOST_ENTRIES):
        part = marks[start : start + MOST_ENTRIES]
        found.append(Column("" if start else "On the picture", part))
    if uses.ladder is not None:
        found.append(Column(uses.ladder.head, tuple(_steps(uses.ladder)), 36))
    tints = tuple(_tints(uses, small))
    if tints:
        found.append(Column("Tints and targets", tints))
    words = tuple(_caption_words(uses, scale))
    parts = -(-len(words) // MOST_WORDS)
    each = -(-len(words) // parts) if parts else 1
    for start in range(0, len(words), each):
        part = words[start : start + each]
        widest = max(shape.width_px for shapes, _ in part for shape in shapes if isinstance(shape, Text))
        found.append(Column("" if start else "In the captions", part, widest))
    return found


def _lengths(uses: Uses) -> dict[str, str]:
    """How long the marks are that cues have on the pictures, those that have one."""
    long = f"{plain(uses.mark_m, 3)} m"
    said = {
        "relative_size": f"posts of {long}",
        "texture_gradient": f"ticks every {long}",
        "convergence": f"rail up to {long} aside",
    }
    return {cue: words for cue, words in said.items() if f"cue {cue}" in uses.marks}


def _verdicts(kinds: Sequence[Kind], scale: Scale) -> Column:
    size = scale.page_type(SIZE)
    height = 24.0 * max(scale.page_t, 1.0)
    widest = max(flag_width(kind, height, size) for kind in kinds)
    entries = [
        (tuple(flag_shapes(kind, 0.0, (ENTRY_HEIGHT - height) / 2, height, size, scale)), FLAG_SAYS[kind])
        for kind in kinds
    ]
    return Column("Verdict and brief", tuple(entries), widest)


def _tints(uses: Uses, scale: Scale) -> list[Entry]:
    entries: list[Entry] = []
    for role, names in uses.roles:
        patch = Area((box(0, 0, 34, ENTRY_HEIGHT),), ROLE_TINT[role], edge_ink=INK, edge_width_px=1.0)
        marked = f"dot {role}" in uses.marks
        shapes: tuple[Shape, ...] = (patch, *(dot((48.0, 10.0), role, scale) if marked else ()))
        entries.append((shapes, role if list(names) == [role] else f"{role}: {_named(names)}"))
    entries += _outlined(uses, scale)
    if uses.striped:
        pixels = stripes_sample(uses.striped, (34, ENTRY_HEIGHT))
        entries.append(((Picture(HIDES, pixels),), "striped: hidden there"))
    if uses.flat:
        patch = Area((box(0, 0, 34, ENTRY_HEIGHT),), FLAT, edge_ink=INK, edge_width_px=1.0)
        entries.append(((patch,), "everything else"))
    if uses.sky:
        entries.append(
            ((Area((box(0, 0, 34, ENTRY_HEIGHT),), EMPTY, edge_ink=INK, edge_width_px=1.0),), "sky")
        )
    if uses.grid is not None:
        tint = tuple(round(part * GRID_SHARE ** (0.45 if uses.grid == GROUND else 1.0)) for part in uses.grid)
        ink = (tint[0], tint[1], tint[2])
        lines: list[Shape] = [
            Area((box(0, 0, 34, ENTRY_HEIGHT),), uses.grid, edge_ink=INK, edge_width_px=1.0)
        ]
        lines += [Line(((x, 0.5), (x, 19.5)), 1.5, ink, round_ends=False) for x in (8.5, 25.5)]
        lines.append(Line(((0.5, 10), (33.5, 10)), 1.5, ink, round_ends=False))
        entries.append((tuple(lines), GRID_ENTRY if uses.grid == GROUND else FACES_ENTRY))
    return entries


def _outlined(uses: Uses, scale: Scale) -> list[Entry]:
    """Outlines with each role's dot; roles whose dots are not drawn stand together."""
    entries: list[Entry] = []
    rest: list[str] = []
    where = " below" if uses.paired else ""
    for role, names in uses.outlined:
        if f"dot {role}" in uses.marks:
            shapes = (*sample(scale), *dot((48.0, 10.0), role, scale))
            entries.append((shapes, f"{role}{where}: {_named(names)}"))
        else:
            rest += names
    if rest:
        has_subject = any(role == "subject" for role, _ in uses.outlined)
        who = ("subject" if len(rest) == 1 else "subject and targets") if has_subject else "targets"
        is_tinted = has_subject and any(role == "subject" for role, _ in uses.roles)
        said = "round the subject" if is_tinted and len(rest) == 1 else f"{who}{where}: {_named(rest)}"
        entries.insert(0, (tuple(sample(scale)), said))
    return entries


def _named(names: Sequence[str]) -> str:
    if len(names) <= MOST_NAMES:
        return listed(names)
    return f"{', '.join(names[: MOST_NAMES - 1])} and {counted(len(names) - MOST_NAMES + 1, 'other')}"


def _steps(ladder: Ladder) -> list[Entry]:
    patch = box(0, 0, 34, ENTRY_HEIGHT)
    return [((Area((patch,), ink, edge_ink=INK, edge_width_px=1.0),), words) for ink, words in ladder.steps]


def _caption_words(uses: Uses, scale: Scale) -> list[Entry]:
    size = scale.page_type(SIZE)
    baseline = ENTRY_HEIGHT / 2 + cap_height_px(size) / 2
    return [((text_shape((0.0, baseline), sample, size, "semibold"),), words) for sample, words in uses.said]


def legend_shapes(
    columns: Sequence[Column], left: float, top: float, width: float, stops: Sequence[float], scale: Scale
) -> tuple[list[Shape], float]:
    """The legend under a rule, and its height. Groups stand in stacks side by side, each below the left
    edge of a column of the grid (`stops`) where there are enough of these; of several widths at which
    their words can be wrapped, a smaller one is taken where it makes the legend clearly lower."""
    if not columns:
        return [], 0.0
    most_px, (blocks, spots) = MOST_WORDS_PX[0], _placed(columns, MOST_WORDS_PX[0], width, scale)
    for tried_px in MOST_WORDS_PX[1:]:
        tried = _placed(columns, tried_px, width, scale)
        if depth(*tried) < depth(blocks, spots) - WORTH_PX:
            most_px, (blocks, spots) = tried_px, tried
    height = depth(blocks, spots)
    lefts = stack_lefts(stack_widths(blocks, spots), left, width, stops, APART)
    shapes: list[Shape] = [rule(left, left + width, top)]
    for column, spot in zip(columns, spots, strict=True):
        drawn, _ = _drawn(column, lefts[spot.stack], top + spot.top, most_px * scale.page_t, scale)
        shapes.append(Group("legend", (0.0, 0.0), tuple(drawn)))
    return shapes, height


def _placed(
    columns: Sequence[Column], most_px: float, width: float, scale: Scale
) -> tuple[list[Block], list[Spot]]:
    """The groups and their spots where words are wrapped at `most_px`."""
    blocks = [_block(column, most_px * scale.page_t, scale) for column in columns]
    return blocks, stacked(blocks, width, APART)


def _block(column: Column, most_px: float, scale: Scale) -> Block:
    """A group's size where its words are wrapped at `most_px`."""
    _, height = _drawn(column, 0.0, 0.0, most_px, scale)
    return Block(_width(column, most_px, scale), height, not column.head)


def _mark_px(column: Column) -> float:
    return column.mark_px + AFTER_MARK if column.mark_px else 0.0


def _width(column: Column, most_px: float, scale: Scale) -> float:
    size = scale.page_type(SIZE)
    words = [
        max(text_width(line, size) for line in balanced(said, size, "regular", most_px, 3))
        for _, said in column.entries
    ]
    names = [text_width(name, size, "semibold") + AFTER_NAME for name in column.names] or [0.0] * len(words)
    whole = [name + said for name, said in zip(names, words, strict=True)]
    return max(
        text_width(column.head, scale.page_type(HEAD), "bold"), _mark_px(column) + max(whole, default=0.0)
    )


def _drawn(
    column: Column, left: float, top: float, most_px: float, scale: Scale
) -> tuple[list[Shape], float]:
    size, head = scale.page_type(SIZE), scale.page_type(HEAD)
    lead, pitch = round(LEAD * size / SIZE), max(PITCH, round(PITCH * size / SIZE))
    y = top + 30.0
    shapes: list[Shape] = [text_shape((left, y), column.head, head, "bold")] if column.head else []
    y += 16.0
    for (drawn, said), name in zip(column.entries, column.names or [""] * len(column.entries), strict=True):
        lines = balanced(said, size, "regular", most_px, 3)
        middle = y + pitch / 2
        if drawn:
            shapes.append(Group("entry", (left, middle - ENTRY_HEIGHT / 2), tuple(drawn)))
        x = left + _mark_px(column)
        baseline = middle + cap_height_px(size) / 2
        if name:
            shapes.append(text_shape((x, baseline), name, size, "semibold"))
            x += text_width(name, size, "semibold") + AFTER_NAME
        for k, line in enumerate(lines):
            shapes.append(text_shape((x, baseline + k * lead), line, size))
        y += pitch + lead * (len(lines) - 1)
    return shapes, y - top + 14.0
