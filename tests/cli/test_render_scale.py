"""A game that draws fewer pixels than the screen has: lengths in those, the same angles at the seat."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from cli_calls import STUDY, done, refused, yard

SCREEN = """
[[viewing]]
name = "{name}"
diagonal_in = 6
pixels = [1366, 768]
eye_distance_m = 0.3
render_scale = {scale}
"""
LONE = STUDY.partition("[sweep]")[0]


def viewings(folder: Path, *scales: float) -> Any:
    screens = "".join(SCREEN.format(name=f"at {scale}", scale=scale) for scale in scales)
    path = yard(folder, LONE + screens)
    words = ("--renderer", "rays", "--only", "targets,viewing,axes", "--json", "-")
    return done("measure", path.name, *words, cwd=folder).record


def test_half_the_scale_is_half_the_pixels_and_the_same_arc_minutes(tmp_path: Path) -> None:
    (row,) = viewings(tmp_path, 1.0, 0.5)["rows"]
    crate = row["targets"]["crate"]
    halved = [side / 2 for side in crate["size_px"]["at 1.0"]]
    assert crate["size_px"]["at 0.5"] == pytest.approx(halved, abs=1e-3)
    assert crate["size_arcmin"]["at 0.5"] == pytest.approx(crate["size_arcmin"]["at 1.0"], abs=1e-3)
    whole, half = (row["viewing"][name] for name in ("at 1.0", "at 0.5"))
    assert (whole["picture_pixels"], half["picture_pixels"]) == ([1366, 768], [683, 384])
    # 6 in over 1566.9 px of a diagonal, at 0.3 m: 1.1146 arc minutes a pixel; a drawn one is twice that
    assert whole["arcmin_per_px"] == pytest.approx(1.1146, abs=1e-3)
    assert half["arcmin_per_px"] == pytest.approx(2 * whole["arcmin_per_px"], rel=1e-3)
    for same in ("picture_hfov_deg", "centre_of_projection_m", "hfov_deg"):
        assert half[same] == pytest.approx(whole[same], abs=1e-3)


def test_the_pixels_of_record_are_those_that_the_game_draws(tmp_path: Path) -> None:
    whole, half = (viewings(tmp_path / str(scale), scale) for scale in (1.0, 0.5))
    assert half["variants"][0]["settings"]["pixels"] == [683, 384]
    one, other = (record["rows"][0]["axes"]["x"] for record in (whole, half))
    assert other["px_per_m"] == pytest.approx(one["px_per_m"] / 2, abs=1e-3)
    assert other["arcmin_per_m"] == pytest.approx(one["arcmin_per_m"], abs=1e-2)


def test_the_header_says_what_is_drawn_and_odd_scales_are_refused(tmp_path: Path) -> None:
    path = yard(tmp_path, LONE + SCREEN.format(name="handheld", scale=0.5))
    done("sheet", path.name, "--renderer", "rays", "--cell-width", "320", "-o", "s.svg", cwd=tmp_path)
    said = re.sub(r"<[^>]*>|\s+", " ", (tmp_path / "s.svg").read_text("utf-8"))
    assert "1366 × 768 drawn as 683 × 384" in re.sub(" +", " ", said)
    assert "drawn at 50 %" in done("check", path.name, cwd=tmp_path).text
    path = yard(tmp_path, LONE + SCREEN.format(name="handheld", scale=0))
    assert "render_scale" in refused("check", path.name, cwd=tmp_path)
    wide = SCREEN.format(name="wall", scale=4).replace("1366", "16384")
    path = yard(tmp_path, LONE + wide)
    assert "render_scale draws 65536 px a side" in refused("check", path.name, cwd=tmp_path)
