"""What is common to all cells, said once at the top: label and value, line by line."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from stationpoint.base.words import TIMES, degrees, listed, number, pitch_words, plain, yaw_words
from stationpoint.readings import ASSUMED, Result, bounded_paths, brief_words, pulled_to_m
from stationpoint.sheet.plan.data import width_at_anchor_m
from stationpoint.sheet.wording import (
    BLOCKED,
    CENTRED,
    LENS,
    alike_words,
    away_words,
    confused,
    offset_words,
    setting_words,
    span_words,
)
from stationpoint.study import ALL_IN_FRAME, HELD_FIELDS, LIGHT, Gap, Study, Viewing

MOST_GAPS = 3
BARRED = 0.998  # of a side: what is less leaves bars
HOLDS = {
    "subject-scale": "drawn at one scale",
    "subject-height": "drawn at one height",
    ALL_IN_FRAME: "all in the action-safe picture",
}
AIDS = {"cast-shadow": "cast shadow", "ground-texture": "ground pattern", "drop-marker": "drop marker"}
GRID, SHADOW = "ground-texture", "cast-shadow"  # what this sheet draws of them, as grid and shadows
DRAWN_AS = {GRID: "the grid", SHADOW: "shadows"}
FITS = {
    "width": "matched on the width",
    "height": "matched on the height",
    "diagonal": "matched on the diagonal",
}
RANKED = frozenset({"prominence", "prominence_rank", "role_order_holds", "outshouted_by", "first_glance"})
RANKING = "a ranking by colour and size, on the level's own colours; no model of attention"
Row = tuple[str, str]


def common_settings(
    results: Sequence[Result],
    study: Study,
    swept: frozenset[str],
    renderer_note: str = "",
    own_colours: str = "",
    first: Sequence[Row] = (),
    drawn: Collection[str] = (),
) -> list[Row]:
    """The header's table: what the cells share, as (label, value) rows; what does not apply is left out.

    swept: fields that differ between the cells, which the headings show. first: rows that stand above all.
    drawn: aids that the pictures show.
    """
    rows: list[Row] = list(first)
    rows += [(_gap_label(study, k), gap_words(gap, results)) for k, gap in enumerate(study.gap[:MOST_GAPS])]
    if len(study.gap) > MOST_GAPS:
        rows.append(("", f"and {len(study.gap) - MOST_GAPS} more"))
    if study.subject is not None:
        held = f", {held_words(results, study, swept)}" if study.sweep.hold in HOLDS else ""
        # A row that begins with "Subject" need not say "subject" again.
        named = study.others or study.subject.name != "subject"
        those = "; ".join(
            f"{one.name}, {plain(one.high_m, 2)} m" if named else f"{plain(one.high_m, 2)} m high"
            for one in study.subjects
        )
        rows.append(("Subjects" if study.others else "Subject", f"{those}{held}"))
    elif study.sweep.hold in HOLDS:
        rows.append(("Subject", f"none: the scene's middle, {held_words(results, study, swept)}"))
    rows.append(("Camera", camera_words(results, study, swept)))
    rows.append(("Picture", picture_words(results, study, swept)))
    rows.append(("Viewing", viewing_words(study, results, swept)))
    rows += swept_viewings(study, results) if "viewing" in swept else []
    rows.append(("Game ships", aids_words(study, drawn)))
    rows.append(("Contacts", surfaces_words(results)))
    places = [place.name for place in study.places]
    if len(places) > 1 and "place" not in swept:
        drawn = list(dict.fromkeys(result.place.name for result in results))
        which = drawn[0] if len(drawn) == 1 else "the worst of each"
        rows.append(("Places", f"{listed(places)}; drawn: {which}"))
    if study.options.ends:
        ends = listed([end.words for end in study.options.ends])
        at = list(dict.fromkeys(result.variant.option for result in results))
        words = "as the study has it" if at[0] is None else at[0].words
        rows.append(
            ("Options", f"judged also {ends}; drawn: {words if len(at) == 1 else 'the worst of each'}")
        )
    if study.limit:
        rows += brief_rows(study)
        if any(path[-1] in RANKED for path in bounded_paths(study)):
            rows.append(("Prominence", RANKING))
    everywhere = confused_in_all(results)
    ranges = {pair: [confused(result)[pair] for result in results] for pair in everywhere}
    said = [alike_words(pair, min(ranges[pair]), max(ranges[pair])) for pair in everywhere]
    rows.append(("Drawn alike", "; ".join(said)))
    if own_colours:
        rows.append(("Colours", own_colours))
    if renderer_note:
        rows.append(("Drawn by", renderer_note))
    return [(label, value) for label, value in rows if value]


def brief_rows(study: Study) -> list[Row]:
    """Each limit of the brief with the reason that it gives, a row each; those without one in a last row."""
    whole = list(zip(study.limit, brief_words(study), strict=True))
    said = [
        f"{words}. {limit.why[:1].upper()}{limit.why[1:].rstrip('.')}."
        for limit, words in whole
        if limit.why and limit != ASSUMED
    ]
    bare = [words for limit, words in whole if not limit.why or limit == ASSUMED]
    said += ["; ".join(bare)] if bare else []
    return [("" if k else "Brief", words) for k, words in enumerate(said)]


def held_words(results: Sequence[Result], study: Study, swept: frozenset[str]) -> str:
    """What `hold` keeps equal: in every cell, or only while the lens changes where something else that is
    swept changes it."""
    if study.sweep.hold == "subject-scale":
        everywhere = _same(width_at_anchor_m(result.setup) for result in results)
    elif study.sweep.hold == ALL_IN_FRAME:
        everywhere = True
    else:
        everywhere = swept <= {*HELD_FIELDS, "yaw_deg", "roll_deg", *LIGHT} - {"aspect"}
    words = HOLDS[study.sweep.hold] + (" in every cell" if everywhere else " whatever the lens")
    pulled = any(pulled_to_m(result.setup) is not None for result in results)
    return f"{words}, but where the camera is pulled in" if pulled else words


def confused_in_all(results: Sequence[Result]) -> list[str]:
    """Pairs of directions that every cell confuses: said once at the top, not in the captions."""
    if len(results) < 2:
        return []
    found = [confused(result) for result in results]
    return [pair for pair in found[0] if all(pair in other for other in found[1:])]


def _gap_label(study: Study, k: int) -> str:
    return ("Gap" if len(study.gap) == 1 else "Gaps") if k == 0 else ""


def gap_words(gap: Gap, results: Sequence[Result]) -> str:
    """A gap's true lengths and how far the player gets."""
    rise = gap.to[1] - gap.from_[1]
    level = sum((b - a) ** 2 for a, b in zip(gap.from_[::2], gap.to[::2], strict=True)) ** 0.5
    words = f"{gap.name}, {span_words(level)} level"
    if abs(rise) >= 0.05:
        words += f", {span_words(abs(rise))} {'up' if rise > 0 else 'down'}"
    reach = results[0].reading.values.get(("gaps", gap.name, "reach_m"))
    if gap.reach_m is not None:
        words += f"; level reach {span_words(gap.reach_m)}"
    elif isinstance(reach, float | int):
        words += f"; reach {span_words(float(reach))} at that height"
    elif gap.reach is not None or gap.jump is not None:
        words += "; out of reach at that height"
    return words


def camera_words(results: Sequence[Result], study: Study, swept: frozenset[str]) -> str:
    """The camera's settings that all cells share."""
    setup, alike = results[0].setup, [result.setup for result in results]
    parts = []
    if "projection" not in swept and len({s.projection for s in alike}) == 1:
        parts.append(setup.projection)
    focals = [s.focal_mm for s in alike if s.focal_mm is not None]
    if not swept & LENS and focals and _same(focals):
        parts.append(f"{plain(focals[0], 1)} mm")
    distances = [s.distance_m for s in alike if s.distance_m is not None]
    if not distances:
        parts.append("the subject not in front of it")
    elif setup.at_anchor:
        eyes = [s.anchor_height_m for s in alike]
        parts.append(away_words(setup) if _same(eyes) else "at the subject's eyes")
    elif len(distances) == len(alike) and _same(distances):
        parts.append(away_words(setup))
    if "pitch_deg" not in swept and _same(s.pitch_deg for s in alike):
        parts.append(pitch_words(setup.pitch_deg))
    if "yaw_deg" not in swept and _same(s.yaw_deg for s in alike):
        parts.append(yaw_words(setup.yaw_deg))
    if "roll_deg" not in swept and abs(setup.roll_deg) > 0.05 and _same(s.roll_deg for s in alike):
        parts.append(f"roll {degrees(setup.roll_deg)}")
    if study.camera.blocked == "pull-in" and "blocked" not in swept:
        parts.append(BLOCKED["pull-in"])
    words = ", ".join(parts)
    offsets = {(offset_words(*s.offset), s.offset_by) for s in alike if s.offset is not None}
    if len(offsets) == 1 and not swept & {"offset", "offset_by"}:
        ((where, by),) = offsets
        words += "" if where == CENTRED else f"; subject {where} {setting_words('offset_by', by)}"
    return words


def picture_words(results: Sequence[Result], study: Study, swept: frozenset[str]) -> str:
    """Aspect, gate, how the angles in captions are to be read, and what stays on screens of other shapes."""
    setup = results[0].setup
    parts = []
    if "aspect" not in swept:
        between = " between bars" if _is_barred(results[0], study) else ""
        parts.append(f"{setup.aspect_words}{between}")
    lenses = [result.setup for result in results if result.setup.hfov_deg is not None]
    if lenses and "gate_mm" not in swept:
        width, height = lenses[0].gate_mm
        fit = "" if "fit" in swept else f" {FITS[lenses[0].fit]}"
        parts.append(f"gate {plain(width, 2)} {TIMES} {plain(height, 2)} mm{fit}")
    is_kept = "aspect" in swept or ("viewing" not in swept and _apart(results[0], study, swept))
    if is_kept and "aspect_policy" not in swept:
        parts.append(f"on other shapes the {study.camera.aspect_policy} stays")
    return ", ".join(parts)


def _is_barred(result: Result, study: Study) -> bool:
    """Whether a picture leaves some of its first viewing's part of the screen to bars."""
    if not study.viewing or not result.seats:
        return False
    viewing = next(viewing for viewing in study.viewing if viewing.name == result.seats[0].name)
    left, top, right, bottom = viewing.part
    whole = (right - left) * viewing.drawn_px[0], (bottom - top) * viewing.drawn_px[1]
    return any(part < BARRED * side for part, side in zip(result.seats[0].picture_px, whole, strict=True))


def _apart(result: Result, study: Study, swept: frozenset[str]) -> list[str]:
    """Names of the viewings that are measured in a picture of another shape than the one that is drawn."""
    drawn = {seat.name for seat in result.seats}
    if "aspect" not in swept and _is_barred(result, study):
        drawn.discard(result.seats[0].name)
    return [viewing.name for viewing in study.viewing if viewing.name not in drawn]


def viewing_words(study: Study, results: Sequence[Result], swept: frozenset[str]) -> str:
    """The viewing that captions measure in, "desk (assumed)" where the study names none; and the others,
    those apart that are measured in a picture of another shape."""
    if "viewing" in swept:
        return ""
    seen = [seat.name for seat in results[0].seats] or [study.viewings[0].name]
    first = next(viewing for viewing in study.viewings if viewing.name == seen[0])
    name = first.name if study.viewing else f"{first.name} (assumed)"
    words = screen_words(first, name)
    if results[0].seats:
        words += f"; {number(results[0].seats[0].arcmin_per_px, 2)} arcmin a pixel"
    others = [viewing.name for viewing in study.viewings if viewing.name in seen[1:]]
    words = f"{words}; also {listed(others)}" if others else words
    apart = _apart(results[0], study, swept)
    own = "its own shape" if len(apart) == 1 else "their own shapes"
    return f"{words}; measured in {own}, too: {listed(apart)}" if apart else words


def swept_viewings(study: Study, results: Sequence[Result]) -> list[Row]:
    """The viewings that the headings name, each with its screen and seat, in the sweep's order."""
    names = dict.fromkeys(dict(result.variant.changes).get("viewing") for result in results)
    by_name = {viewing.name: viewing for viewing in study.viewings}
    those = [by_name[name] for name in names if name in by_name]
    return [("" if k else "Viewings", screen_words(viewing)) for k, viewing in enumerate(those)]


def screen_words(viewing: Viewing, name: str = "") -> str:
    """A viewing's name, screen and seat: "couch: 55 in, 1920 × 1080, at 2.7 m"."""
    screen = f"{plain(viewing.diagonal_in, 1)} in, {viewing.pixels[0]} {TIMES} {viewing.pixels[1]}"
    if viewing.render_scale != 1.0:
        width, height = (plain(side, 1) for side in viewing.drawn_px)
        screen += f" drawn as {width} {TIMES} {height}"
    return f"{name or viewing.name}: {screen}, at {plain(viewing.eye_distance_m, 2)} m"


def aids_words(study: Study, drawn: Collection[str] = ()) -> str:
    """Which helps the game will have, and which of those it lacks are drawn all the same, for the reader:
    "cast shadow; no ground pattern or drop marker; the grid here is for reading this sheet only"."""
    has = [words for key, words in AIDS.items() if key in study.aids]
    lacks = [words for key, words in AIDS.items() if key not in study.aids]
    said = [", ".join(has)] if has else []
    said += [f"no {listed(lacks, 'or')}"] if lacks else []
    only = [DRAWN_AS[key] for key in (GRID, SHADOW) if key in drawn and key not in study.aids]
    if only:
        said.append(
            f"{listed(only)} here {'is' if only == [DRAWN_AS[GRID]] else 'are'} for reading this sheet only"
        )
    return "; ".join(said)


def surfaces_words(results: Sequence[Result]) -> str:
    """Between how many surfaces false contacts were looked for; "" where they were not."""
    found = [result.reading.extras.get(("surfaces",)) for result in results]
    counts = {len(middles) for middles in found if middles is not None}
    if not counts:
        return ""
    if max(counts) < 2:
        return "fewer than two walkable surfaces, so none was looked for"
    several = f"{max(counts)}" if len(counts) == 1 else f"up to {max(counts)}"
    return f"looked for between {several} walkable surfaces"


def _same(values: Iterable[float]) -> bool:
    those = list(values)
    return max(those) - min(those) < 1e-6 * max(1.0, abs(those[0]))
