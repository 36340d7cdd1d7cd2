"""Large levels: a million triangles within two GiB; memory that does not grow with the variants."""

from __future__ import annotations

import json
import struct
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from cli_calls import environment

SIDE = 708  # squares a side: 708 x 708 x 2 = 1 002 528 triangles
RUN = """
import resource, subprocess, sys
code = subprocess.run([sys.executable, "-m", "stationpoint", *sys.argv[1:]]).returncode
print(code, resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)
"""


def hills(path: Path, side: int) -> None:
    """A GLB of rolling ground, side x side squares over 60 x 60 m, hand packed."""
    x, z = np.meshgrid(np.linspace(-30, 30, side + 1), np.linspace(-30, 30, side + 1))
    points = np.stack([x, 1.5 * np.sin(x / 4) * np.cos(z / 5), z], axis=-1).reshape(-1, 3).astype("<f4")
    at = np.arange(side * (side + 1)).reshape(side, side + 1)[:, :-1].ravel()
    across = at + side + 1
    corners = np.stack([at, across, at + 1, at + 1, across, across + 1], axis=-1).astype("<u4")
    data = points.tobytes() + corners.tobytes()
    document = {
        "asset": {"version": "2.0"},
        "scene": 0,
        "scenes": [{"nodes": [0]}],
        "nodes": [{"name": "hills", "mesh": 0}],
        "meshes": [{"primitives": [{"attributes": {"POSITION": 0}, "indices": 1}]}],
        "accessors": [
            {"bufferView": 0, "componentType": 5126, "count": len(points), "type": "VEC3",
             "min": points.min(axis=0).tolist(), "max": points.max(axis=0).tolist()},
            {"bufferView": 1, "componentType": 5125, "count": corners.size, "type": "SCALAR"},
        ],
        "bufferViews": [
            {"buffer": 0, "byteOffset": 0, "byteLength": points.nbytes},
            {"buffer": 0, "byteOffset": points.nbytes, "byteLength": corners.nbytes},
        ],
        "buffers": [{"byteLength": len(data)}],
    }  # fmt: skip
    text = json.dumps(document).encode()
    text += b" " * (-len(text) % 4)
    chunks = struct.pack("<I4s", len(text), b"JSON") + text + struct.pack("<I4s", len(data), b"BIN\0") + data
    path.write_bytes(struct.pack("<4sII", b"glTF", 2, 12 + len(chunks)) + chunks)


def peak_mib(folder: Path, *words: str) -> float:
    """The most memory that a call of its own held, in MiB; it must end well."""
    done = subprocess.run(
        [sys.executable, "-c", RUN, *words],
        cwd=folder,
        env=environment(),
        capture_output=True,
        text=True,
        timeout=300,
    )
    code, kib = done.stdout.split()[-2:]
    assert code == "0", done.stderr
    return float(kib) / 1024


@pytest.mark.skipif(sys.platform != "linux", reason="memory is read as Linux tells it")
@pytest.mark.parametrize("renderer", ["auto", "rays"])
def test_a_million_triangles_are_drawn_and_measured_within_two_gib(tmp_path: Path, renderer: str) -> None:
    hills(tmp_path / "hills.glb", SIDE)
    words = ("--cell-width", "320", "--renderer", renderer, "--columns", "focal_mm=24,50", "--rows", "")
    assert peak_mib(tmp_path, "sheet", "hills.glb", *words, "-o", "hills.png") < 2048
    rows = json.loads((tmp_path / "hills.json").read_text("utf-8"))["rows"]
    assert len(rows) == 2


@pytest.mark.skipif(sys.platform != "linux", reason="memory is read as Linux tells it")
def test_memory_grows_with_the_variants_by_their_finished_cells_alone(tmp_path: Path) -> None:
    # A finished cell of 320 x 180: 3 bytes of picture and 4 of ids a pixel, .38 MiB, on a page of its
    # size again; readings, text and what the allocator keeps back are allowed as much once more.
    hills(tmp_path / "hills.glb", 20)
    words = ("--cell-width", "320", "--renderer", "rays", "--rows", "", "-o", "hills.png")
    few = peak_mib(tmp_path, "sheet", "hills.glb", "--columns", "pitch_deg=10:13:1", *words)
    many = peak_mib(tmp_path, "sheet", "hills.glb", "--columns", "pitch_deg=10:41:1", *words)
    assert many - few < 28 * 3 * 0.38
