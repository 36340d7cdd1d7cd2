"""The source as its tools want it: linted, formatted, typed."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]


@pytest.mark.parametrize(
    "words",
    [
        ("ruff", "check", "src", "tests"),
        ("ruff", "format", "--check", "src", "tests"),
        ("mypy",),
    ],
    ids=["ruff-check", "ruff-format", "mypy"],
)
def test_source_is_clean(words: tuple[str, ...]):
    found = subprocess.run([sys.executable, "-m", *words], cwd=ROOT, capture_output=True, text=True)
    assert found.returncode == 0, found.stdout + found.stderr
