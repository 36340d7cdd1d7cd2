"""A whole `sheet` process against the plain loop, side by side: 5 times faster for 24 variants, 8 for 96.

STATIONPOINT_BENCH=1 python -m pytest tests/bench -s
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from pathlib import Path

import pytest

HERE = Path(__file__).parent
SOURCE = HERE.parents[1] / "src"
RUNS = 3


def took_s(command: list[str], folder: Path) -> float:
    """Seconds of a whole process, from its start to its end."""
    start = time.perf_counter()
    done = subprocess.run(
        [sys.executable, *command],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(SOURCE)},
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    return time.perf_counter() - start


@pytest.mark.bench
@pytest.mark.skipif("STATIONPOINT_BENCH" not in os.environ, reason="a timing: set STATIONPOINT_BENCH=1")
@pytest.mark.parametrize(("count", "times"), [(24, 5.0), (96, 8.0)])
def test_sheet_is_several_times_faster_than_the_plain_loop(tmp_path: Path, count: int, times: float) -> None:
    pytest.importorskip("PIL")
    sys.path.insert(0, str(HERE))
    try:
        from boxes400 import write
    finally:
        sys.path.remove(str(HERE))
    study = write(tmp_path, count)
    ours = [
        "-m",
        "stationpoint",
        "sheet",
        study.name,
        "-o",
        "sheet.png",
        "--cell-width",
        "640",
        "--renderer",
        "gl",
    ]
    plain = [str(HERE / "plain_loop.py"), str(count), str(tmp_path / "plain.png")]
    took_s(ours, tmp_path)  # both warm: file caches, shader cache
    pairs = [(took_s(plain, tmp_path), took_s(ours, tmp_path)) for _ in range(RUNS)]  # interleaved
    loop_s, sheet_s = (statistics.median(part) for part in zip(*pairs, strict=True))
    print(
        f"\n{count} variants: plain loop {loop_s:.2f} s, sheet {sheet_s:.2f} s, {loop_s / sheet_s:.1f} times"
    )
    assert list(tmp_path.glob("sheet*.png"))
    assert loop_s / sheet_s >= times
