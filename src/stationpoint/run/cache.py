"""What was judged before, kept in a folder: a record for each level as it was, and the picture shown of it.

A file's name is the digest of all that its contents depend on, so that none is ever out of date; one that
does not hold what its name says is passed over with a warning, and written anew.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import fields, is_dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stationpoint import __version__
from stationpoint.base.errors import StationpointError, StudyWrong
from stationpoint.base.files import make_folder, write_all
from stationpoint.record import Record, png_bytes, png_pixels, read_record, record_text
from stationpoint.run.prepare import Prepared
from stationpoint.study import study_digest

FORM = 3  # of what is kept
KEPT, KEY, CHECK = "kept", "key", "sha256"
UNKNOWN = "0" * 64  # stands for the digest of all bytes in what it is the digest of
CHECKED = re.compile(rb'"%s": "([0-9a-f]{64})"' % CHECK.encode())
LETTERS = 40  # of a name
Pixels = NDArray[np.uint8]
Kept = dict[str, Any]  # as JSON knows it


def level_key(prepared: Prepared, renderer: str, asked: Sequence[object]) -> str:
    """What a level's verdict depends on, as a digest (hex): the study as prepared, the scene with its
    colours, the cameras, the version, the renderer as asked for, and what was asked."""
    total = sha256()
    own = [(node.name, node.shows_own, node.own) for node in prepared.scene.nodes if node.own is not None]
    said = [FORM, __version__, renderer, *asked, study_digest(prepared.study)]
    whole = [said, prepared.scene_digest, prepared.scene.digest, own, prepared.cameras, prepared.body]
    feed(total, whole)
    return total.hexdigest()[:LETTERS]


def feed(total: Any, value: object) -> None:
    """Take a value into a digest, with its kind and its length, so that no two values look alike."""
    if isinstance(value, np.ndarray):
        total.update(f"{value.dtype}{value.shape}".encode() + np.ascontiguousarray(value).tobytes())
    elif is_dataclass(value) and not isinstance(value, type):
        feed(total, [(one.name, getattr(value, one.name)) for one in fields(value)])
    elif isinstance(value, dict):
        feed(total, list(value.items()))
    elif isinstance(value, list | tuple):
        total.update(f"[{len(value)}".encode())
        for one in value:
            feed(total, one)
    else:
        data = value if isinstance(value, bytes) else repr(value).encode("utf-8", "surrogatepass")
        total.update(f"{type(value).__name__}{len(data)}:".encode() + data)


class Cache:
    """A folder of what was judged. warnings: a sentence for each file that could not be used, or written."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self.warnings: list[str] = []
        if folder.exists() and not folder.is_dir():
            raise StudyWrong(f"--cache: {folder} is a file; name a folder.")

    def find(self, key: str) -> tuple[Record, Kept] | None:
        """The record under a key and what was kept with it, None where there is none that is whole."""
        path = self._folder / f"{key}.json"
        try:
            data = path.read_bytes()
        except FileNotFoundError:
            return None
        except OSError:
            data = b""  # as one that is damaged
        try:
            whole = read_record(data.decode("utf-8"), path.name) if _is_whole(data) else {}
        except (StudyWrong, ValueError):
            whole = {}
        kept: object = whole.pop(KEPT, None)
        if not isinstance(kept, dict) or kept.pop(CHECK, None) is None or kept.get(KEY) != key:
            self._unused(path)
            return None
        return whole, kept

    def keep(self, key: str, whole: Record, kept: Kept) -> None:
        """Keep a record under a key, with more that belongs to it."""
        data = record_text({**whole, KEPT: {KEY: key, **kept, CHECK: UNKNOWN}}).encode()
        place = _check_at(data)
        assert place is not None
        self._write(self._folder / f"{key}.json", _with_check(data, place, sha256(data).hexdigest()))

    def find_picture(self, key: str) -> Pixels | None:
        """The picture that was kept under a key, None where there is none that is whole."""
        path = self._folder / f"{key}.png"
        try:
            pixels = png_pixels(path.read_bytes())
        except FileNotFoundError:
            return None
        except OSError:
            pixels = None  # as one that is damaged
        if pixels is None:
            self._unused(path)
        return pixels

    def keep_picture(self, key: str, pixels: Pixels) -> None:
        """Keep a picture under a key."""
        self._write(self._folder / f"{key}.png", png_bytes(pixels, {}))

    def _unused(self, path: Path) -> None:
        self.warnings.append(f"{path} does not hold what its name says; it is written anew.")

    def _write(self, path: Path, data: bytes) -> None:
        try:
            make_folder(self._folder)
            write_all({path: data}, {path: "--cache"})
        except StationpointError as error:
            self.warnings.append(f"--cache: {error}".split("\n")[0])


def _is_whole(data: bytes) -> bool:
    """Whether the bytes of a file are those that were written: the last digest in them is theirs."""
    place = _check_at(data)
    if place is None:
        return False
    said = data[place : place + len(UNKNOWN)].decode()
    return sha256(_with_check(data, place, UNKNOWN)).hexdigest() == said


def _check_at(data: bytes) -> int | None:
    """Where the digest of a file begins, None where it has none."""
    found = CHECKED.search(data, max(0, data.rfind(b'"%s"' % CHECK.encode())))
    return None if found is None else found.start(1)


def _with_check(data: bytes, place: int, check: str) -> bytes:
    return data[:place] + check.encode() + data[place + len(check) :]
