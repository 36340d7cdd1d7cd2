"""Whether the lowest versions in pyproject.toml are true: `python tests/lowest.py FOLDER [--quick]`.

Makes a virtual environment there with every dependency and extra at its lowest and this package, makes the
same calls in it and in the Python that runs this (which has the newest), and compares what they say and
write. Then the tests of what is left to single packages (EXTRAS) run in it. Ends with 1 where one differs or
fails. --quick, for every run of CI: without extras and tests, and only the calls of QUICK.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
RAYS = ("--renderer", "rays", "--workers", "1")
SMALL = (*RAYS, "--cell-width", "320")
STUDY = "quay.study.toml"
QUICK = (
    ("check", STUDY),
    ("sheet", STUDY, "-o", "quay.png", *SMALL),
    ("inspect", "quay.png"),
    ("measure", "rooftop.study.toml", "--only", "targets", "--csv", "rooftop.csv", *RAYS),
    ("judge", STUDY, *RAYS),
    ("page", "greenhouse.toml", "-o", "greenhouse.html", *SMALL),
)
CALLS = (
    *QUICK,
    ("sheet", "rooftop.study.toml", "-o", "rooftop.svg", *SMALL),
    ("sheet", "greenhouse.study.toml", "-o", "greenhouse.pdf", "--alone", *SMALL),
    ("measure", "quarry.study.toml", "--json", "quarry.json", "--csv", "quarry.csv", *RAYS),
    ("chart", STUDY, "--reading", "targets.*.depth_m", "-o", "quay.chart.svg", *RAYS),
    ("handoff", STUDY, "-o", "cameras.usda", "--with-level"),
    ("check", "cameras.usda"),
    ("mesh", "cameras.usda", "-o", "cameras.glb"),
    ("choose", STUDY, "A1", "--by", "AK", "--because", "it shows"),
)
# What another version may write otherwise: letters of a chart, objects of a PDF.
BY_VERSION = (".chart.svg", ".pdf")
# Of what one package does, the tests that need none but those of the project.
EXTRAS = (
    "tests/scene/test_draco.py",
    "tests/scene/test_usd.py",
    "tests/study/test_decision.py",
    "tests/ink/test_paint_pdf.py",
    "tests/run/workers/test_cluster.py::test_a_sheet_and_its_record_are_the_bytes_of_one_process",
    "tests/cli/test_watch.py::test_what_is_saved_is_drawn_again_and_only_what_has_changed",
)
TESTERS = ("pytest", "pytest-xdist", "hypothesis")  # of the extra "test", those that EXTRAS need


def lowest(quick: bool) -> list[str]:
    """Each dependency pinned to its lowest version, "numpy==2.0"; unless quick, each extra and tester too."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    asked, extras = list(project["dependencies"]), project["optional-dependencies"]
    if not quick:
        asked += [one for name in extras if name != "test" for one in extras[name]]
        asked += [one for one in extras["test"] if one.partition(">=")[0] in TESTERS]
    return [re.sub(r">=", "==", one, count=1) for one in asked]


def called(python: Path, folder: Path, calls: Sequence[Sequence[str]]) -> dict[str, bytes]:
    """What the calls say, by their words, and write, by file name, in a folder with the demos' files."""
    shutil.copytree(ROOT / "scenes", folder)
    before = {path.name for path in folder.iterdir()} - {STUDY}
    said: dict[str, bytes] = {}
    env = {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")}
    for words in calls:
        call = [python, "-m", "stationpoint", *words]
        ended = subprocess.run(call, cwd=folder, env=env, capture_output=True, timeout=300, check=False)
        told = ended.stdout + ended.stderr
        if ended.returncode not in (0, 1):
            sys.exit(f"{' '.join(words)} ends with {ended.returncode} in {python}:\n{told.decode()}")
        said[" ".join(words)] = told
    return said | {path.name: path.read_bytes() for path in folder.iterdir() if path.name not in before}


def main(folder: Path, quick: bool) -> int:
    """The exit code; what differs is printed."""
    pinned = lowest(quick)
    print("lowest:", *pinned, flush=True)
    subprocess.run([sys.executable, "-m", "venv", folder / "venv"], check=True)
    python = folder / "venv" / "bin" / "python"
    subprocess.run([python, "-m", "pip", "install", "-q", *pinned, ROOT], check=True)
    calls = QUICK if quick else CALLS
    low = called(python, folder / "lowest", calls)
    new = called(Path(sys.executable), folder / "newest", calls)
    other = [name for name in new.keys() | low.keys() if low.get(name) != new.get(name)]
    other = [name for name in other if not name.endswith(BY_VERSION)]
    print(f"{len(new)} outputs are compared; differing: {', '.join(sorted(other)) or 'none'}.", flush=True)
    if quick:
        return 1 if other else 0
    tested = subprocess.run([python, "-m", "pytest", "-n", "0", *EXTRAS], cwd=ROOT, check=False)
    return 1 if other or tested.returncode else 0


if __name__ == "__main__":
    if len(sys.argv) < 2 or sys.argv[2:] not in ([], ["--quick"]):
        sys.exit("Say in which folder: python tests/lowest.py FOLDER [--quick]")
    sys.exit(main(Path(sys.argv[1]).resolve(), quick=len(sys.argv) == 3))
