"""Files that a mesh file names and that belong to it, opened or not: no call writes over them."""

from __future__ import annotations

import re
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from urllib.parse import unquote

from stationpoint.base.inputs import note, open_input

MOST_READ = 1 << 20  # bytes of a material file
LIBRARY = re.compile(r"^[ \t]*mtllib[ \t](.+)$", re.MULTILINE)
TEXTURE = re.compile(r"^[ \t]*(?:map_\w+|bump|disp|decal|refl|norm)[ \t](.+)$", re.MULTILINE | re.IGNORECASE)


def note_gltf_files(tables: Mapping[str, object], folder: Path) -> None:
    """Note the buffers and pictures that a glTF file's JSON names. folder: where it lies."""
    for kind in ("buffers", "images"):
        entries = tables.get(kind)
        for entry in entries if isinstance(entries, list) else ():
            uri = entry.get("uri") if isinstance(entry, dict) else None
            if isinstance(uri, str) and uri[:5].lower() != "data:":
                note(folder / unquote(uri).replace("\\", "/"))


def note_obj_files(text: str, folder: Path) -> None:
    """Note the material files that an OBJ file names, and the textures that those name."""
    for name in _names(LIBRARY, text) if "mtllib" in text else ():
        library = folder / name
        note(library)
        with suppress(OSError, ValueError, RuntimeError):
            if not library.resolve().is_relative_to(folder.resolve()) or not library.is_file():
                continue
            with open_input(library) as file:
                materials = file.read(MOST_READ).decode("utf-8", "replace")
            for texture in _names(TEXTURE, materials):
                note(library.parent / texture)


def _names(line: re.Pattern[str], text: str) -> list[str]:
    """What may be file names in such lines: all of the line, or any word of it (options come before)."""
    found = [rest.strip().replace("\\", "/") for rest in line.findall(text)]
    return [name for rest in found for name in (rest, *rest.split())]
