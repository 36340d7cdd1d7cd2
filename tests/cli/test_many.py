"""What a study may have many of costs by its number, not by its square."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from cli_calls import done, yard

FEW, MANY = 750, 3000
MOST_TIMES = 8.0  # what four times as many may cost: 4 by their number, 16 by its square
HEAD = 'scene = "yard.toml"\n[subject]\nname = "hopper"\nat = [0, 0, 0]\n'
TAIL = "[camera]\nfocal_mm = 35\ndistance_m = 8\n"
TARGET = '[[target]]\nname = "t{0}"\nnode = "crate"\n'
ENTRIES = {
    "targets": TARGET,
    "limits on one target": '[[limit]]\nreading = "targets.one.seen"\nmax = 0.{0:05d}1\n',
    "a limit on each target": TARGET + '[[limit]]\nreading = "targets.t{0}.seen"\nmax = 0.9\n',
    "gaps": '[[gap]]\nname = "g{0}"\nfrom = [0, 0, 0]\nto = [1, 0, {0}.5]\n',
    "places": '[[place]]\nname = "p{0}"\nat = [0, 0, {0}.5]\n',
}


def seconds(folder: Path, entry: str, count: int) -> float:
    """Processor time of a check of a study with this many entries."""
    one = '[[target]]\nname = "one"\nnode = "crate"\n'
    text = HEAD + TAIL + one + "".join(map(entry.format, range(count)))
    path = folder / "many.study.toml"
    path.write_text(text, "utf-8")
    begun = time.process_time()
    done("check", path, cwd=folder)
    return time.process_time() - begun


@pytest.mark.parametrize("kind", list(ENTRIES))
def test_four_times_as_many_cost_about_four_times_as_much(kind: str, tmp_path: Path) -> None:
    yard(tmp_path)
    # As many places cost seconds: of each, all that needs no drawing is measured.
    few, many = (FEW // 5, MANY // 5) if kind in ("places", "gaps") else (FEW, MANY)
    seconds(tmp_path, ENTRIES[kind], 2)  # what is imported and read once
    assert seconds(tmp_path, ENTRIES[kind], many) < MOST_TIMES * seconds(tmp_path, ENTRIES[kind], few) + 0.1
