"""One scene in every format: the same record from the command line but for names and digests."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from cli_calls import DATA, done, refused
from scene.written import (
    draco_glb,
    needs_draco,
    needs_usd,
    quantized_glb,
    usd_files,
    usd_name,
    usda_text,
)
from stationpoint.readings import GROUPS
from stationpoint.scene import Scene, glb_bytes, read_scene

SCENES = Path(__file__).parents[2] / "scenes"
STUDY = (SCENES / "quarry.study.toml").read_text("utf-8")
ROOM = DATA / "office.glb"
CALL = ("--renderer", "rays", "--only", "targets", "--only", "gaps", "--json", "-")
# Positions in 16 bits over the 200 m of the quarry's ground: at most 1.6 mm off, which is 0.09 of a pixel
# in a picture of 13 m on 720 pixels. A share may gain or lose single pixels at an edge.
SHARE, METRE, PIXEL = 0.005, 0.002, 0.1


def quarry(folder: Path) -> Scene:
    """The quarry with names that USD can hold, written as a plain GLB and read back."""
    scene = read_scene(SCENES / "quarry.glb")
    renamed = Scene(tuple(replace(node, name=usd_name(node.name)) for node in scene.nodes))
    (folder / "plain.glb").write_bytes(glb_bytes(renamed))
    return read_scene(folder / "plain.glb")


def record(mesh: Path) -> dict[str, Any]:
    """What `measure` says of the quarry's study with its scene in this file, without digests."""
    text = STUDY.replace('"quarry.glb"', f'"{mesh.name}"').replace(
        'node = "lifted stone"', 'node = "lifted_stone"'
    )
    for name in ("cart wheel", "ledge ", "haul ramp", "cut block", "high block"):
        text = text.replace(name, name.replace(" ", "_"))
    (mesh.parent / "level.study.toml").write_text(text, "utf-8")
    found = done("measure", "level.study.toml", *CALL, cwd=mesh.parent).record
    del found["study"]["sha256"]
    return without_colours(found)


def without_colours(found: dict[str, Any]) -> dict[str, Any]:
    """A record without its note on colours: formats differ in what they hold of them."""
    notes = [note for note in found["notes"] if not note.startswith("Contrast and prominence")]
    return found | {"notes": notes}


def unlike(one: Any, other: Any, at: str = "") -> Iterator[str]:
    """Where two records differ by more than the quantization allows."""
    if isinstance(one, dict) and isinstance(other, dict) and one.keys() == other.keys():
        for key in one:
            yield from unlike(one[key], other[key], f"{at}.{key}")
    elif isinstance(one, list) and isinstance(other, list) and len(one) == len(other):
        for k, pair in enumerate(zip(one, other, strict=True)):
            yield from unlike(*pair, f"{at}[{k}]")
    elif isinstance(one, float) and isinstance(other, float):
        bound = PIXEL if "_px" in at else max(SHARE, METRE, SHARE * abs(one))
        if abs(one - other) > bound:
            yield f"{at}: {one} and {other}"
    elif one != other:
        yield f"{at}: {one} and {other}"


@needs_usd
def test_usd_gives_the_record_of_the_glb(tmp_path: Path) -> None:
    scene = quarry(tmp_path)
    plain = record(tmp_path / "plain.glb")
    for path in usd_files(tmp_path, usda_text(scene.nodes)):
        assert record(path) == plain


@needs_usd
def test_usd_in_centimetres_with_z_up_gives_the_record_of_the_glb(tmp_path: Path) -> None:
    """Nine digits of a position in centimetres lose less than a hundredth of a millimetre."""
    scene = quarry(tmp_path)
    path = tmp_path / "level.usda"
    path.write_text(usda_text(scene.nodes, up="Z", unit_m=0.01, scale=100.0))
    assert list(unlike(record(tmp_path / "plain.glb"), record(path))) == []


@needs_draco
def test_draco_gives_the_record_of_the_plain_glb(tmp_path: Path) -> None:
    scene = quarry(tmp_path)
    packed = draco_glb(tmp_path / "draco.glb", scene, bits=16)
    assert list(unlike(record(tmp_path / "plain.glb"), record(packed))) == []


@pytest.mark.parametrize("normalized", [True, False])
def test_quantized_positions_give_the_record_of_the_plain_glb(tmp_path: Path, normalized: bool) -> None:
    scene = quarry(tmp_path)
    whole = quantized_glb(tmp_path / "whole.glb", scene, "i2", normalized)
    assert list(unlike(record(tmp_path / "plain.glb"), record(whole))) == []


@needs_draco
@needs_usd
@pytest.mark.skipif(not ROOM.is_file(), reason="the two scanned rooms of ../shared/data are not there")
def test_a_scanned_room_is_one_room_in_every_format(tmp_path: Path) -> None:
    """Parts that stand within 7 m: 14 bits are 0.4 mm."""
    room = read_scene(ROOM)
    named = Scene(tuple(replace(node, name=usd_name(node.name)) for node in room.nodes))
    packed = read_scene(draco_glb(tmp_path / "draco.glb", named, bits=14))
    for path in usd_files(tmp_path, usda_text(named.nodes)):
        scene = read_scene(path)
        for ours, drawn, other in zip(scene.nodes, packed.nodes, named.nodes, strict=True):
            assert ours.name == drawn.name == other.name
            assert ours.vertices.tolist() == other.vertices.tolist()
            assert ours.faces.tolist() == other.faces.tolist() == drawn.faces.tolist()
            assert abs(drawn.vertices - other.vertices).max() < 0.001
    done("start", "level.usdz", "-o", "room.study.toml", cwd=tmp_path)
    assert "level.usdz" in done("check", "room.study.toml", cwd=tmp_path).text


ROOM_AIDS = 'aids = ["ground-texture", "cast-shadow", "drop-marker"]\n'
ROOM_MORE = """
[[gap]]
name = "chair to door"
from = {foot}
to = {away}
reach_m = 1.6

[mesh]
walkable = true

[[limit]]
reading = "targets.*.seen"
min = 0.3

[[viewing]]
name = "desk"
diagonal_in = 24
pixels = [1920, 1080]
eye_distance_m = 0.6

[[viewing]]
name = "phone"
diagonal_in = 6
pixels = [2400, 1080]
eye_distance_m = 0.3
"""


def room_record(folder: Path, study: str, mesh: Path) -> dict[str, Any]:
    """The whole record of a room's study, every group, with its mesh in this file."""
    (folder / "room.study.toml").write_text(study.replace("plain.glb", mesh.name), "utf-8")
    words = ("--rows", "pitch_deg=5,25", "--columns", "focal_mm=16", "--renderer", "rays", "--json", "-")
    found = done("measure", "room.study.toml", *words, cwd=folder).record
    del found["study"]["sha256"]
    return without_colours(found)


@needs_draco
@needs_usd
@pytest.mark.skipif(not ROOM.is_file(), reason="the two scanned rooms of ../shared/data are not there")
def test_a_scanned_room_has_one_record_in_every_format(tmp_path: Path) -> None:
    room = read_scene(ROOM)
    named = Scene(tuple(replace(node, name=usd_name(node.name)) for node in room.nodes))
    (tmp_path / "plain.glb").write_bytes(glb_bytes(named))
    done("start", "plain.glb", "-o", "first.study.toml", cwd=tmp_path)
    first = (tmp_path / "first.study.toml").read_text("utf-8")
    x, y, z = tomllib.loads(first)["subject"]["at"]
    study = ROOM_AIDS + first + ROOM_MORE.format(foot=[x, y, z], away=[x - 0.3, y, z - 0.3])
    plain = room_record(tmp_path, study, tmp_path / "plain.glb")
    assert len(plain["rows"]) == 4
    assert {*GROUPS} - {"subjects"} <= {*plain["rows"][0]}
    assert plain["rows"][0]["gaps"]["chair to door"]["landing_seen"] is not None
    for path in usd_files(tmp_path, usda_text(named.nodes)):
        assert room_record(tmp_path, study, path) == plain
    # A picture hangs within the scanned wall: 14 bits, .2 mm here, change how much of it that hides. 20 are
    # 3 micrometres, far below a pixel.
    packed = draco_glb(tmp_path / "draco.glb", named, bits=20)
    assert list(unlike(plain, room_record(tmp_path, study, packed))) == []


def test_fbx_is_refused_with_the_formats_to_export(tmp_path: Path) -> None:
    (tmp_path / "level.fbx").write_bytes(b"Kaydara FBX Binary  \0\x1a\0")
    (tmp_path / "level.toml").write_text('[[mesh]]\nfile = "level.fbx"\n')
    for command in ("check level.fbx", "sheet level.fbx", "check level.toml"):
        said = refused(*command.split(), cwd=tmp_path)
        assert "is FBX, which is not read; export it as glTF or USD." in said
        assert len(said.splitlines()) == 1
