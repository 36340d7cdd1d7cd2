"""The tables of docs/performance.md: what whole calls cost, beside what their pictures alone do.

python tests/bench/performance.py [PART ...]

Parts: start, demo, sheet24, sheet400, judge, room, terrain; all of them where none is named. A row is printed
once it is measured. All parts take some minutes on two quiet cores; have nothing else running.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import NamedTuple

import boxes400
import card
import many_places
import numpy as np
import scan
from PIL import Image, PngImagePlugin

HERE = Path(__file__).parent
PROGRAM = ("-m", "stationpoint")
GL = ("--renderer", "gl")
TERRAIN_SIDE, TERRAIN_VARIANTS = 709, 6
START_RUNS = 5
HEAD = (
    "| call | processor, s | clock, s | memory, MB | floor, processor s | times the floor |\n"
    "| --- | ---: | ---: | ---: | ---: | ---: |"
)


class Took(NamedTuple):
    """What a process and all that it started cost: seconds, and the most memory of one of them."""

    processor_s: float
    clock_s: float
    peak_mb: float
    said: str


def took(*words: str | Path, cwd: Path) -> Took:
    """A call of this Python, from its start to its end; that some variants fail is no error."""
    start = time.perf_counter()
    kept = {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")}
    with subprocess.Popen(
        [sys.executable, *map(str, words)],
        cwd=cwd,
        env=kept,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    ) as process:
        assert process.stdout is not None
        said = process.stdout.read()
        _, status, used = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode not in (0, 1):
        raise SystemExit(f"{said}{words} ended with {process.returncode}.")
    bytes_each = 1 if sys.platform == "darwin" else 1024
    clock_s = time.perf_counter() - start
    return Took(used.ru_utime + used.ru_stime, clock_s, used.ru_maxrss * bytes_each / 1e6, said)


def floor_s(study: Path, call: str, folder: Path) -> float:
    """Processor seconds of the pictures that a call draws, in one process, and of packing its PNG."""
    return float(took(__file__, "--floor", call, study, cwd=folder).said.split()[-1])


def print_floor(call: str, study: Path, folder: Path) -> None:
    """Draw what `sheet` or `judge` draws of a study and do nothing with it; pack the pixels of the PNG files
    that are there. Prints the processor seconds of each and of both, without imports and preparations."""
    from stationpoint.readings import bounded_paths
    from stationpoint.record import png_bytes
    from stationpoint.render import open_renderer
    from stationpoint.run import Wants, prepare_study
    from stationpoint.run.cases import cases
    from stationpoint.run.sweep import by_camera, shots_of
    from stationpoint.study import read_study

    PngImagePlugin.MAX_TEXT_CHUNK = PngImagePlugin.MAX_TEXT_MEMORY = 1 << 26  # records of many variants
    prepared = prepare_study(read_study(study), study.parent)
    is_sheet = call == "sheet"
    bounded = frozenset(path[0] for path in bounded_paths(prepared.study))
    wants = Wants(cell_width=boxes400.CELL[0]) if is_sheet else Wants(picture=False, only=bounded)
    every, before = [], ""
    for case in cases(prepared, wants.cell_width, marked=is_sheet, by_place=not is_sheet):
        shots = shots_of(case, wants, case.variant.label != before)
        before = case.variant.label
        every.append([shots[key] for key in by_camera(shots)])
    start = time.process_time()
    with open_renderer("gl", prepared.scene) as renderer:
        for those in every:
            for shot in those:
                renderer.draw(shot)
    drawn_s = time.process_time() - start
    packed_s = 0.0
    for file in sorted(folder.glob("sheet*.png")) if is_sheet else ():
        with Image.open(file) as image:
            pixels = np.asarray(image.convert("RGB"))
        start = time.process_time()
        png_bytes(pixels, {})
        packed_s += time.process_time() - start
    print(f"{drawn_s:.3f} {packed_s:.3f} {drawn_s + packed_s:.3f}")


def row(what: str, study: Path, *words: str) -> Took:
    """Run a call on a study and print its row."""
    call, *options = words
    whole = took(*PROGRAM, call, study.name, *options, *GL, cwd=study.parent)
    floor = floor_s(study, call, study.parent)
    print(
        f"| {what} | {whole.processor_s:.1f} | {whole.clock_s:.1f} | {whole.peak_mb:.0f} | {floor:.1f} | "
        f"{whole.processor_s / floor:.2f} |",
        flush=True,
    )
    return whole


def against(loop: str, whole: Took, folder: Path, *words: str | Path) -> None:
    """Print how long the plain loop took beside a call."""
    plain = took(HERE / loop, *words, cwd=folder)
    print(
        f"| `{loop}`, that plain loop | {plain.processor_s:.1f} | {plain.clock_s:.1f} | {plain.peak_mb:.0f} "
        f"| | {plain.processor_s / whole.processor_s:.2f} times the call |",
        flush=True,
    )


def sheet(what: str, study: Path, *options: str) -> Took:
    """The row of a `sheet` in cells of 640 px."""
    return row(what, study, "sheet", "--cell-width", str(boxes400.CELL[0]), "-o", "sheet.png", *options)


def start(folder: Path) -> None:
    """How soon a process answers, the best of a few."""
    print("| start | processor, ms | clock, ms |\n| --- | ---: | ---: |")
    calls: dict[str, tuple[str, ...]] = {
        "`python -c pass`": ("-c", "pass"),
        "`stationpoint --version`": (*PROGRAM, "--version"),
        "`import stationpoint.run`": ("-c", "import stationpoint.run"),
    }
    for name, words in calls.items():
        every = [took(*words, cwd=folder) for _ in range(START_RUNS)]
        used, clock = min(one.processor_s for one in every), min(one.clock_s for one in every)
        print(f"| {name} | {1e3 * used:.0f} | {1e3 * clock:.0f} |", flush=True)
    print("\n" + HEAD)


def demo(folder: Path) -> None:
    """The demo quay."""
    for file in (HERE.parents[1] / "scenes").glob("*.toml"):
        (folder / file.name).write_bytes(file.read_bytes())
    sheet("`sheet` of the demo quay, 8 variants", folder / "quay.study.toml")


def sheet24(folder: Path) -> None:
    """400 boxes under 24 cameras, and the plain loop."""
    whole = sheet("`sheet`, 400 boxes, 24 variants", boxes400.write(folder, 24))
    against("plain_loop.py", whole, folder, "24", folder / "plain.png")


def sheet400(folder: Path) -> None:
    """400 boxes under 400 cameras on 20 pages."""
    sheet("`sheet`, 400 boxes, 400 variants on 20 pages", boxes400.write(folder, 400))


def judge(folder: Path) -> None:
    """400 boxes, 24 cameras, 40 places, 3 viewings."""
    row("`judge`, 400 boxes, 24 variants, 40 places, 3 viewings", many_places.write(folder), "judge")


def room(folder: Path) -> None:
    """The scanned room, everything read, and the plain loop."""
    study = scan.write(folder, everything=True)
    whole = sheet("`sheet`, scanned room, 12 variants, 2 places", study)
    against("plain_scan.py", whole, folder, folder / "plain.png")


def terrain(folder: Path) -> None:
    """A million triangles."""
    sheet(
        f"`sheet`, terrain of 1 005 362 triangles, {TERRAIN_VARIANTS} variants",
        card.write(folder, TERRAIN_SIDE, TERRAIN_VARIANTS),
    )


PARTS: dict[str, Callable[[Path], None]] = {
    "start": start,
    "demo": demo,
    "sheet24": sheet24,
    "sheet400": sheet400,
    "judge": judge,
    "room": room,
    "terrain": terrain,
}


def main(names: list[str]) -> None:
    """Measure the parts of these names, all where there is none."""
    unknown = [name for name in names if name not in PARTS]
    if unknown:
        raise SystemExit(f"There is no part {unknown[0]}; there are {', '.join(PARTS)}.")
    if names and names[0] != "start":
        print(HEAD, flush=True)
    for name in names or PARTS:
        with TemporaryDirectory() as folder:
            PARTS[name](Path(folder))


if __name__ == "__main__":
    if sys.argv[1:2] == ["--floor"]:
        print_floor(sys.argv[2], Path(sys.argv[3]), Path.cwd())
    else:
        main(sys.argv[1:])
