"""Whether the lowest versions in pyproject.toml are true: `python tests/lowest.py FOLDER`.

Makes a virtual environment there with every dependency and extra at its lowest and this package, and one
with the newest; draws all demos in both, and compares their records. Ends with 1 where one differs.
"""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]


def lowest() -> list[str]:
    """Each dependency and extra for use pinned to its lowest version: "numpy==2.0"."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    extras = project["optional-dependencies"]
    asked = [*project["dependencies"], *(one for name in extras if name != "test" for one in extras[name])]
    return [re.sub(r">=", "==", one, count=1) for one in asked]


def drawn(folder: Path, *packages: str) -> dict[str, bytes]:
    """The records of the demos, by file name, drawn with these packages and this one."""
    subprocess.run([sys.executable, "-m", "venv", folder / "venv"], check=True)
    python = folder / "venv" / "bin" / "python"
    subprocess.run([python, "-m", "pip", "install", "-q", *packages, ROOT], check=True)
    (folder / "drawn").mkdir(exist_ok=True)
    words = [python, "-m", "stationpoint", "demo", "--all", "-o", ".", "--renderer", "rays", "--force"]
    subprocess.run(words, cwd=folder / "drawn", check=True)
    return {path.name: path.read_bytes() for path in sorted((folder / "drawn").glob("*.json"))}


def main(folder: Path) -> int:
    """The exit code; what differs is printed."""
    pinned = lowest()
    print("lowest:", *pinned)
    for name in ("lowest", "newest"):
        (folder / name).mkdir(parents=True, exist_ok=True)
    low, new = drawn(folder / "lowest", *pinned), drawn(folder / "newest")
    other = [name for name in new.keys() | low.keys() if low.get(name) != new.get(name)]
    print(f"{len(new)} records are compared; differing: {', '.join(sorted(other)) or 'none'}.")
    return 1 if other or not new else 0


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("Say in which folder: python tests/lowest.py FOLDER")
    sys.exit(main(Path(sys.argv[1]).resolve()))
