"""How soon a saved study is seen: after an edit of everything, the first new picture costs at most .3 of a
whole `page`, in turns, whatever demo it is.

STATIONPOINT_BENCH=1 python -m pytest tests/bench -s
"""

from __future__ import annotations

import http.client
import json
import os
import shutil
import statistics
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from cli_calls import environment

pytest.importorskip("watchfiles", reason="watchfiles is not installed (extra watch)")
SCENES = Path(__file__).parents[2] / "scenes"
PROGRAM = (sys.executable, "-m", "stationpoint")
RUNS = 3
EVERYTHING = {
    "quay": "anchor_height_m = 0.9",
    "greenhouse": "anchor_height_m = 1.2",
    "quarry": "distance_m = 24",
    "rooftop": "view_height_m = 11",
}


@contextmanager
def told(study: Path) -> Iterator[Iterator[tuple[float, dict[str, object]]]]:
    """What a page that follows a study is told, each with when."""
    call = subprocess.Popen(
        [*PROGRAM, "watch", study.name, "--page", "followed.html", "--renderer", "gl"],
        cwd=study.parent,
        env=environment(),
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        assert call.stderr is not None
        address = next(line.split()[-1] for line in call.stderr if "http://" in line)
        line = http.client.HTTPConnection(address.removeprefix("http://").rstrip("/"), timeout=60)
        line.request("GET", "/events")
        answer = line.getresponse()
        lines = (one for one in iter(answer.readline, b"") if one.startswith(b"data: "))
        yield ((time.perf_counter(), json.loads(one.removeprefix(b"data: "))) for one in lines)
    finally:
        call.terminate()
        call.wait()


def page_s(study: Path) -> float:
    """Seconds of a whole call of `page`."""
    begun = time.perf_counter()
    subprocess.run(
        [*PROGRAM, "page", study.name, "-o", "whole.html", "--renderer", "gl", "--quiet", "--force"],
        cwd=study.parent,
        env=environment(),
        check=True,
        capture_output=True,
    )
    return time.perf_counter() - begun


@pytest.mark.bench
@pytest.mark.skipif("STATIONPOINT_BENCH" not in os.environ, reason="a timing: set STATIONPOINT_BENCH=1")
@pytest.mark.parametrize("name", EVERYTHING)
def test_after_an_edit_of_everything_the_first_new_picture_is_soon_seen(name: str, tmp_path: Path) -> None:
    folder = tmp_path / "scenes"
    shutil.copytree(SCENES, folder)
    study, edited = folder / f"{name}.study.toml", EVERYTHING[name]
    text = study.read_text("utf-8")
    assert edited in text
    pairs, wholes = [], []
    with told(study) as following:
        next(following)
        for run in range(1 + RUNS):
            beside = folder / "saved~"
            beside.write_text(
                text.replace(edited, f"{edited}{'' if '.' in edited else '.'}{run + 1}"), "utf-8"
            )
            saved = time.perf_counter()
            os.replace(beside, study)
            each = [next(following)]
            while each[-1][1].get("due", ()) is not None:
                each.append(next(following))
            seen = [when for when, what in each if "pictures" in what]
            if run:  # the first warms up
                pairs.append((seen[0] - saved, page_s(study)))
                wholes.append(each[-1][0] - saved)
    first_s, whole_s = (statistics.median(times) for times in zip(*pairs, strict=True))
    print(
        f"\n{name}: first picture {min(pairs)[0]:.2f} s, whole page {min(wholes):.2f} s after a save; "
        f"page {min(b for _, b in pairs):.2f} s; {first_s / whole_s:.2f} of it"
    )
    assert first_s <= 0.3 * whole_s
