"""The most memory that a call takes, and a study of as many variants as wanted."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from cli_calls import environment

# The process that the call runs in says, once it is done, how much it had resident at most.
CHILD = """
import resource, sys
from stationpoint import cli
sys.argv = ["stationpoint", *sys.argv[1:]]
try:
    cli.main()
except SystemExit as end:
    assert end.code in (0, 1), end.code
most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
print(most * (1 if sys.platform == "darwin" else 1024) / 1e6, file=sys.stderr)
"""


def peak_mb(*words: str | Path, cwd: Path) -> float:
    """The most memory, in MB, that a call has resident."""
    ended = subprocess.run(
        [sys.executable, "-c", CHILD, *map(str, words)],
        cwd=cwd,
        env=environment(),
        capture_output=True,
        text=True,
        check=False,
    )
    assert ended.returncode == 0, ended.stderr
    return float(ended.stderr.split()[-1])


def study_of(folder: Path, rows: int, columns: int, more: str = "", pages: int = 1) -> str:
    """A tiny study of pages x rows x columns variants, written into the folder; its name. more: TOML after
    it."""
    (folder / "tiny.toml").write_text(
        '[[solid]]\nname = "crate"\nshape = "box"\nsize = [1, 1, 1]\nat = [2, 0, 0]\n', "utf-8"
    )
    pitches = [round(5.0 + 60.0 * k / rows, 4) for k in range(rows)]
    yaws = [round(-60.0 + 120.0 * k / columns, 4) for k in range(columns)]
    lenses = [round(20.0 + 60.0 * k / pages, 4) for k in range(pages)]
    in_pages = f"pages = {{ focal_mm = {lenses} }}\n" if pages > 1 else ""
    study = folder / f"tiny-{rows}-{columns}-{pages}.toml"
    study.write_text(
        'title = "Many"\nscene = "tiny.toml"\n[subject]\nname = "body"\nat = [0, 0, 0]\n'
        '[[target]]\nname = "crate"\nnode = "crate"\n'
        '[camera]\nfocal_mm = 35\ndistance_m = 16\naspect = "16:9"\n'
        f"[sweep]\nrows = {{ pitch_deg = {pitches} }}\ncolumns = {{ yaw_deg = {yaws} }}\n{in_pages}{more}",
        "utf-8",
    )
    return study.name
