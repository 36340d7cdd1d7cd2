"""A Case called in a folder of its own, and what is wrong with what came of it."""

from __future__ import annotations

import re
import time
from pathlib import Path
from tempfile import TemporaryDirectory

import cli_calls
from fuzz.inputs import Case

LONGEST_S = 10.0
CODES = {0, 1, 2, 3, 141}
# A library's words: the file and line of a warning, or a traceback.
FOREIGN = re.compile(r"\.py:\d+|Traceback|fault of its own")


def complaint(case: Case) -> str:
    """What is wrong with a call, in a few words; "" if nothing is."""
    with TemporaryDirectory() as name:
        folder = Path(name)
        for path, data in case.files.items():
            (folder / path).write_bytes(data)
        before = cli_calls.listing(folder)
        started = time.process_time()
        result = cli_calls.call(*case.words, cwd=folder)
        took_s = time.process_time() - started
        after = cli_calls.listing(folder)
    if result.code not in CODES:
        return f"exit code {result.code}: {result.err[-300:]}"
    if FOREIGN.search(result.err):
        return f"words that are not for people: {result.err[-300:]}"
    if "\x1b" in result.err or b"\x1b" in result.out[:2000]:
        return "an escape sequence as it is"
    if result.code in (2, 3):
        if not result.err.strip() and not result.out.strip():  # of many levels, each row says why
            return f"exit code {result.code} without a word"
        if after != before:
            return (
                f"exit code {result.code}, and written: {sorted(set(after) - set(before)) or 'over a file'}"
            )
        if len(result.err) > 20_000:
            return f"{len(result.err)} letters of complaints"
    if any(after.get(path) != data for path, data in before.items() if path not in case.may_write):
        return "an input was written over"
    if any(path.endswith(".part") for path in after):
        return "a part of a file is left"
    if took_s > LONGEST_S:
        return f"{took_s:.0f} s"
    return ""
