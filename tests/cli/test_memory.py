"""What a call keeps does not grow with the number of its variants."""

from __future__ import annotations

from pathlib import Path

import pytest

from peak import peak_mb, study_of

# A variant of the sweep is some 4 kB by itself, labels and checked fields; rows of 30 kB must not stay.
KEPT_KB = 8.0
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
