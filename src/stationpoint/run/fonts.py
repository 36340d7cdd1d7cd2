"""What words on sheets are set with: the study's own fonts, and the names that are ordered apart."""

from __future__ import annotations

from collections.abc import Iterable
from hashlib import sha256
from pathlib import Path
from typing import NamedTuple

from stationpoint.base.allowed import quoted_value
from stationpoint.base.inputs import read_input
from stationpoint.ink import font_fault, use_type
from stationpoint.study import Study


class FontFile(NamedTuple):
    """A font of a study: its file's bare name, and its bytes."""

    name: str
    data: bytes

    @property
    def said(self) -> dict[str, str]:
        """Its name and digest, as the record has them."""
        return {"file": self.name, "sha256": sha256(self.data).hexdigest()}


def read_fonts(study: Study, folder: Path) -> tuple[tuple[FontFile, ...], list[str]]:
    """The study's fonts, and a sentence for each that is none. folder: what their paths count from."""
    found, wrong = list[FontFile](), list[str]()
    for words in study.fonts:
        called = f"font {quoted_value(words)}"
        try:
            data = read_input(folder / words)
        except (OSError, ValueError) as error:
            is_lost = isinstance(error, FileNotFoundError | ValueError)
            why = (getattr(error, "strerror", None) or "no file").lower()
            wrong.append(
                f"{called} was not found; its path counts from the study's own folder."
                if is_lost
                else f"{called} cannot be read: {why}."
            )
            continue
        fault = font_fault(data)
        if fault:
            wrong.append(f"{called} {fault}; name a .ttf or .otf file with outlines.")
        else:
            found.append(FontFile(Path(words).name, data))
    return tuple(found), wrong


def set_with(study: Study, fonts: Iterable[FontFile], nodes: Iterable[str]) -> None:
    """From now on words are set in these fonts too, and the study's and the scene's names ordered apart."""
    tables = (study.target, study.gap, study.place, study.viewing, study.reserved)
    names = [str(one.name) for table in tables for one in table]
    names += [one.name for one in study.subjects]
    use_type([font.data for font in fonts], [*names, *nodes])
