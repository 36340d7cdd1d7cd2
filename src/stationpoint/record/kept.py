"""A record read back from the file that keeps it: JSON, or a sheet, which carries it with its study."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

from stationpoint.base.errors import StudyWrong
from stationpoint.base.inputs import read_input
from stationpoint.record.png import RECORD_KEYWORD, STUDY_KEYWORD, read_png_texts
from stationpoint.record.record import Record, read_record

KEPT_SUFFIXES = (".json", ".png")


class Kept(NamedTuple):
    """A record as it is kept. text: its own. study: the study's text, of a sheet alone."""

    text: str
    record: Record
    study: str | None = None


def read_kept(path: Path, renewed: bool = False) -> Kept:
    """The record that a file keeps; StudyWrong where it keeps none.

    renewed: the call means to write over it afterwards.
    """
    if path.suffix.lower() == ".png":
        texts = read_png_texts(path, (RECORD_KEYWORD,))
        text = texts[RECORD_KEYWORD]
        return Kept(text, read_record(text, str(path)), texts.get(STUDY_KEYWORD))
    try:
        data = path.read_bytes() if renewed else read_input(path)
    except IsADirectoryError:
        raise StudyWrong(f"{path} is a folder; name a record in it.") from None
    except FileNotFoundError:
        raise StudyWrong(f"{path}: there is no such file.") from None
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else "that is no name for a file"
        raise StudyWrong(f"{path} cannot be read: {reason}.") from None
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        raise StudyWrong(f"{path} is not JSON; give a record that stationpoint wrote.") from None
    return Kept(text, read_record(text, str(path)))
