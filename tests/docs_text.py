"""Docs printed from the code, so that they cannot drift from it.

    python tests/docs_text.py [FOLDER]      rewrites them in FOLDER (docs if none is named)

readings.md and record.schema.json are printed whole. In study-file.md and scene-file.md the columns
"type" and "default" of every table of keys are filled in, in reading-a-sheet.md the letters, thresholds
and uses of the depth cues; the other words there are a person's.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from stationpoint.base.allowed import allowed, annotated, bare, field_of, is_model, item_of, keys_of, written
from stationpoint.base.words import plain
from stationpoint.readings.cues.rules import CUE_RULES, PARALLAX_SHARE, CueRule
from stationpoint.readings.kinds import FIELDS
from stationpoint.readings.types import Field
from stationpoint.record.record import SETTINGS
from stationpoint.record.schema import schema_text
from stationpoint.scene.file import SceneFile
from stationpoint.study.models import Study

READINGS, SCHEMA, SHEET = "readings.md", "record.schema.json", "reading-a-sheet.md"
KEYS: dict[str, type[BaseModel]] = {"study-file.md": Study, "scene-file.md": SceneFile}
TOP = "the top of the file"  # the heading of the keys outside all tables
HEADER = "| key | type | unit | default | meaning |"
CUE_HEADER = "| cue | letter | weak from | reads from | gives | mark on the picture |"
UNITS = {"'": "arcmin", "'/m": "arcmin/m", "sq '": "sq arcmin", "'/s": "arcmin/s"}
HEADING = re.compile(r"#+ `([^`]+)`")
NOTHING = "-"

GROUPS = {
    "targets": "One entry for each `[[target]]`, by its name.",
    "subject": (
        "Of the subject, a stand-in and a node alike: what a target has. The whole group is null where no "
        "subject is drawn, as in first person."
    ),
    "subjects": (
        "Where there are several subjects, one entry for each, the player's own too, by its name: what a "
        "target has. Not there where there is one."
    ),
    "gaps": "One entry for each `[[gap]]`, by its name. Arc minutes are the first viewing's.",
    "axes": "At the anchor, along the world's `x`, `y` and `z`. Arc minutes are the first viewing's.",
    "pairs": (
        "Two directions at the anchor: the world's axes (`x-y`, `x-z`, `y-z`), and the camera's up, across "
        "(its level right) and away (its heading): `up-away`, `up-across`, `across-away`."
    ),
    "planes": "At the anchor, in the world's `ground` (x and z), `side` (y and z) and `front` (x and y).",
    "framing": "The picture as a whole.",
    "boom": (
        "A sphere round the corners of the near plane (radius near_m sqrt(1 + tan2(h / 2) + tan2(v / 2)), "
        "near_m 0.1 m unless the study writes another) is swept from the anchor, the pivot, straight to the "
        "camera as asked for, offset or not. Faces count from both sides, cut-outs and glass like any other "
        "unless `passes` names their node; of nodes whose backs are open, only those that show the camera "
        "their front. The subject's own node does not count; parts of it that are nodes of their own are "
        "named in `passes`. What the sphere touches at the anchor does not count either, nor, until it has "
        "left all of that, what goes on from it within 30 degrees and does not rise against the way: a floor "
        "in triangles blocks no boom that starts on it. `inside` and `near_cuts` are of the camera that is "
        "drawn, pulled in or not; a room whose walls are single sheets is an open mesh, of which "
        "`clear_share` tells more. Without a subject the anchor is the scene's middle."
    ),
    "false_contacts": (
        "A list of groups. A surface is what lies within 45 degrees of level and hangs together, of 0.25 m2 "
        "and more, of a node that is walkable; where no mesh says which of its nodes are, of meshes only "
        "targets, and what the subject stands on at any of its places, take-offs and landings. Stairs and "
        "tiles of one ground are one surface: what goes on step by step (up to 0.3 of the body's height) "
        "within a node, from tread to tread, or level at a common corner. Surfaces go by their nodes' names; "
        "the reach is the longest of the study's gaps, 2 m where it names none. A bare reach, and those 2 m, "
        "are for steps: upward they hold to half the body's height, downward at any."
    ),
    "false_breaks": (
        "A list as well. Within reach counts from the surface that the subject or a take-off stands on, or "
        "both ways where none does. Both ends are seen, and look farther apart than they are."
    ),
    "twins": (
        "One entry for each `[[target]]`, by its name, and in it one for `slide` (moved along the sightline) "
        "and one for `mirror` (mirrored in depth), each with what the target stands on and carries (`with`)."
    ),
    "cues": (
        "One entry for each pair: `gap:NAME` is a gap's take-off and landing, `target:NAME` the subject's "
        "foot and a primary target's. Each cue has `value`, `share`, `unit` and `grade`; a share that is "
        "never there is left out below."
    ),
    "viewing": "One entry for each viewing whose picture has this row's shape, by its name.",
}
INTRO = """\
# Readings

Every number of a record, what it means and when there is none. This page is printed from the code's own
table of fields; `python tests/docs_text.py` rewrites it.

- A **row** of a record holds the readings of one variant at one place in one picture shape. Viewings whose
  picture has the study's aspect share the first shape; another aspect makes further rows.
- A **path** names a reading: `targets.barge three.seen` in a limit of the brief, `targets` > `barge three` >
  `seen` in the JSON, a column of the CSV. Below, `*` stands for a name: of a target, a gap, an axis, a
  viewing.
- **Decimals** are those of the record. A **share** is a fraction from 0 to 1, in a limit too; sheets and
  charts say it in per cent. What has no unit is a ratio, another fraction, a direction, or words; its
  sentence says which.
- **null** says that a reading does not exist here, and never zero. The last column says when that is so;
  where it is empty there is always a value.
- A pixel is one of the viewing's own screen, never of the sheet's small picture. Without another word a
  viewing is the study's first one.
- The source is the definition itself, common practice, or what is named.

- A record's `notes` are sentences: what was guessed of a file that stands alone, what is assumed where the
  study says nothing, what looks odd, and which readings are null in some rows and why.
- `study` > `decision` is there where the study has one, with the label of its variant (null where the sweep
  has none of that key); `variants` > `note` where the study notes something of a variant.
- Its `cameras` judge what is one camera to a player: variants that are alike but for place, viewing and
  light, each as players may set it. Each is judged by the worst: `holds` if all its variants do, `score` and
  `binds` of the worst one.
  `of` counts each variant at each place on each viewing, `failed_at` those of them at which at least one must
  fails; a reading of the picture fails for every viewing that sees it and that its limit is about. `key` is
  the variant's own where nothing but the camera is swept. null where there is one place and one viewing, and
  none of these nor the light is swept; without a brief there are no verdicts in it.

The record's shape as a JSON Schema: [record.schema.json](record.schema.json).
"""
SETTINGS_INTRO = """\
## Settings of a variant

Not readings but what was drawn, solved from the study: `variants` > `settings` in the record. null where one
does not apply (a parallel view has no lens).
"""


def readings_text(fields: Iterable[Field]) -> str:
    """readings.md: the fields by group, in the code's order."""
    groups: dict[str, list[Field]] = {}
    for field in fields:
        if not field.null.startswith("always"):
            groups.setdefault(field.path[0], []).append(field)
    parts = [INTRO]
    for group, members in groups.items():
        rows = [row for member in members for row in _rows(member)]
        table = _table(("reading", "unit", "decimals", "meaning", "source", "null when"), rows)
        parts.append("\n".join(part for part in (f"## {group}\n", GROUPS.get(group, ""), table) if part))
    settings = [(f"`{one.name}`", one.unit or NOTHING, str(one.decimals), one.says) for one in SETTINGS]
    parts.append(SETTINGS_INTRO + _table(("setting", "unit", "decimals", "meaning"), settings))
    return "\n".join(parts)


def _rows(field: Field, within: str = "") -> Iterator[tuple[str, ...]]:
    """The row of a field, and of each part of a list of groups: `false_contacts[].level_m`."""
    name = within + ".".join(field.path)
    yield f"`{name}`", _unit(field), str(field.decimals), field.says, field.source, field.null
    for part in field.parts:
        yield from _rows(part, f"{name}[].")


def _unit(field: Field) -> str:
    return UNITS.get(field.unit, field.unit) or NOTHING


def _table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A Markdown table under an empty line."""
    lines = [heads, ["---"] * len(heads), *rows]
    return "\n" + "".join(f"| {' | '.join(cell.replace('|', '/') for cell in line)} |\n" for line in lines)


def _cells(line: str) -> list[str]:
    """The cells of a row of a Markdown table."""
    return [cell.strip() for cell in line.strip().strip("|").split("|")]


def key_tables(top: type[BaseModel]) -> dict[str, type[BaseModel]]:
    """Every table that a file may hold, by the heading that its keys stand under: `[camera]`,
    `[[gap]]`, `jump` (a table within another), and the top itself. Of tables within others that have the
    same keys as one before, as the channels of a rig, that one tells."""
    tables: dict[str, type[BaseModel]] = {TOP: top}
    for heading, model in _inner_tables(top, at_top=True):
        if heading.startswith("[") or model not in tables.values():
            tables[heading] = model
    return tables


def _inner_tables(model: type[BaseModel], at_top: bool) -> Iterator[tuple[str, type[BaseModel]]]:
    for key in keys_of(model):
        inner, several = _model_of(model, key)
        if inner is not None:
            yield (f"[[{key}]]" if several else f"[{key}]") if at_top else key, inner
            yield from _inner_tables(inner, at_top=False)


def _model_of(model: type[BaseModel], key: str) -> tuple[type[BaseModel] | None, bool]:
    """The table that a key holds, None if it holds a value; and whether it holds several."""
    kind = bare(_field(model, key).annotation)[0]
    item = item_of(kind)
    for inner, several in ((kind, False), (item, True)):
        if isinstance(inner, type) and is_model(inner):
            return inner, several
    return None, False


def _field(model: type[BaseModel], key: str) -> FieldInfo:
    field = field_of(model, key)
    if field is None:
        raise ValueError(f"`{key}` is not a key of {model.__name__}")
    return field


def filled(text: str, top: type[BaseModel]) -> str:
    """A page on a kind of file with the types and defaults of its keys as the code has them.

    Each heading that names a table in backticks is followed by one table of keys under HEADER. Raises
    ValueError, one line a complaint, where a table or key is missing, or is not in the code.
    """
    tables, wrong = key_tables(top), []
    found: dict[str, list[str]] = {}
    heading, within, lines = "", False, []
    for line in text.splitlines():
        name = HEADING.match(line)
        if line.startswith("#"):
            heading = name[1] if name and name[1] in tables else TOP if TOP in line else ""
        within = line == HEADER or (within and line.startswith("|"))
        if within and line == HEADER:
            found[heading] = []
        elif within and not line.startswith("| ---") and heading:
            cells = _cells(line)
            key = cells[0].strip("`")
            found[heading].append(key)
            if key in keys_of(tables[heading]) and len(cells) == 5:
                cells[1], cells[3] = _type_and_default(tables[heading], key)
                line = f"| {' | '.join(cells)} |"
            else:
                wrong.append(f"{heading}: {line} is not a row of a key")
        lines.append(line)
    for name_of_table, model in tables.items():
        if name_of_table not in found:
            wrong.append(f"there is no table of keys under {name_of_table}")
        elif found[name_of_table] != keys_of(model):
            wrong.append(
                f"{name_of_table}: the keys are {keys_of(model)}, the page has {found[name_of_table]}"
            )
    if wrong:
        raise ValueError("\n".join(wrong))
    return "\n".join(lines) + "\n"


def _type_and_default(model: type[BaseModel], key: str) -> tuple[str, str]:
    field = _field(model, key)
    inner, several = _model_of(model, key)
    if inner is not None:
        return ("tables" if several else "a table"), "required" if field.is_required() else "none"
    said = allowed(annotated(field)).replace("1000000000", "1e9").replace("1000000", "1e6")
    if field.is_required():
        return said, "required"
    default = field.get_default(call_default_factory=True)
    if isinstance(default, Mapping):
        return said, "`{}`"
    return said, NOTHING if default in (None, "", ()) else f"`{written(default)}`"


def with_cues(text: str) -> str:
    """The page on sheets with letters, thresholds and uses of the depth cues as the code has them.

    Under CUE_HEADER stands one row a cue, by its name with spaces, in the code's order; ValueError where
    that is not so.
    """
    head, found, table = text.partition(CUE_HEADER)
    lines = table.splitlines()
    end = next((k for k, line in enumerate(lines) if k and not line.startswith("|")), len(lines))
    rows = [_cells(line) for line in lines[2:end]]
    names = [row[0].replace(" ", "_") for row in rows]
    if not found or names != list(CUE_RULES):
        raise ValueError(f"{SHEET}: under {CUE_HEADER} stand {names}, the cues are {list(CUE_RULES)}")
    made = [
        f"| {' | '.join((row[0], *_cue_cells(name), row[-1]))} |"
        for name, row in zip(names, rows, strict=True)
    ]
    return head + found + "\n".join([*lines[:2], *made, *lines[end:]]) + "\n"


def _cue_cells(name: str) -> tuple[str, str, str, str]:
    """Letter, the values from which a cue is weak and from which it reads, and what it gives."""
    rule, factor = CUE_RULES[name], float(Study.model_fields["glance_factor"].default)
    return f"`{rule.letter}`", _from(name, rule, 1.0), _from(name, rule, factor), rule.gives


def _from(name: str, rule: CueRule, factor: float) -> str:
    said = f"{plain(factor * rule.least)} {UNITS.get(rule.unit, rule.unit)}"
    return f"{said} and {plain(100 * factor * PARALLAX_SHARE)} %" if name == "parallax" else said


def pages(folder: Path) -> dict[Path, str]:
    """All that is printed, by file. folder: where the hand-written pages are."""
    made = {folder / READINGS: readings_text(FIELDS), folder / SCHEMA: schema_text(FIELDS)}
    made[folder / SHEET] = with_cues((folder / SHEET).read_text("utf-8"))
    return made | {
        folder / name: filled((folder / name).read_text("utf-8"), top) for name, top in KEYS.items()
    }


def main(arguments: Sequence[str]) -> int:
    """Rewrite the pages; 2 where a hand-written one lacks a key."""
    try:
        made = pages(Path(arguments[0] if arguments else "docs"))
    except (OSError, ValueError) as error:
        print(error, file=sys.stderr)
        return 2
    for path, text in made.items():
        path.write_text(text, "utf-8")
        print(f"Wrote {path}.")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
