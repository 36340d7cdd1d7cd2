"""What a call keeps does not grow with the number of its variants."""

from __future__ import annotations

from pathlib import Path

import pytest

from peak import peak_mb, study_of

# A variant of the sweep is some 4 kB by itself, labels and checked fields; rows of 30 kB must not stay.
KEPT_KB = 8.0
# The picture and ids of a cell of 320 x 180 px are 400 kB (3 + 4 bytes a pixel); they must not stay.
PICTURED_KB = 100.0
LIMIT = '[[limit]]\nreading = "targets.*.depth_m"\nmin = 1.0\n'


@pytest.mark.parametrize(
    "words",
    [("measure", "--only", "framing", "--json", "x.json", "--csv", "x.csv"), ("judge",)],
    ids=["measure", "judge"],
)
def test_ten_times_the_variants_take_hardly_more_memory(words: tuple[str, ...], tmp_path: Path) -> None:
    call, *more = [*words, "--renderer", "rays", "--workers", "1", "--force"]
    few, many = (
        peak_mb(call, study_of(tmp_path, *size, LIMIT), *more, cwd=tmp_path) for size in ((8, 10), (20, 40))
    )
    assert many - few < (800 - 80) * KEPT_KB / 1e3


def test_ten_times_the_pages_take_hardly_more_memory(tmp_path: Path) -> None:
    words = ("--only", "framing", "--cell-width", "320", "--renderer", "rays", "--workers", "1", "--force")
    few, many = (
        peak_mb("sheet", study_of(tmp_path, 2, 2, LIMIT, pages), *words, cwd=tmp_path) for pages in (6, 60)
    )
    assert many - few < (240 - 24) * PICTURED_KB / 1e3
