"""Materials of glTF files, as the specification (Khronos glTF 2.0, 3.8 and 3.9) says they are."""

from __future__ import annotations

import pickle
from pathlib import Path

import numpy as np
import pytest

from stationpoint.scene import Scene, in_own_colours, own_colour_notes, read_scene
from stationpoint.scene.materials import Texture

from .painted import UV, Painted, png

FILE = "plate.glb"


def read(built: Painted, folder: Path) -> Scene:
    return read_scene(built.glb(folder / FILE))


def test_a_factor_and_an_embedded_texture_are_read(tmp_path: Path) -> None:
    built = Painted()
    texels = [[(255, 0, 0, 255), (0, 255, 0, 255)], [(0, 0, 255, 255), (255, 255, 255, 0)]]
    texture = built.texture(texels, wrapS=33071, wrapT=33648, magFilter=9728)
    built.plate("plate", built.material((0.5, 0.25, 1, 0.75), texture), (0, 0), (1, 1))
    own = read(built, tmp_path).node("plate").own
    assert own is not None
    assert own.uv is not None
    assert own.materials[0].factor == (0.5, 0.25, 1.0, 0.75)
    found = own.materials[0].texture
    assert found is not None
    assert found.wrap == ("clamp", "mirror")
    assert found.nearest
    assert np.array_equal(found.pixels, texels)
    assert np.array_equal(own.uv, UV)


@pytest.mark.parametrize(("kind", "most"), [("f4", 1.0), ("u1", 255), ("u2", 65535)])
def test_vertex_colours_are_linear_whatever_holds_them(tmp_path: Path, kind: str, most: float) -> None:
    shares = np.array([(0.2, 0.4, 0.6, 0.8)] * 4)
    built = Painted()
    built.plate("plate", None, (0, 0), (1, 1), colours=shares * most, colour_kind=kind)
    own = read(built, tmp_path).node("plate").own
    assert own is not None
    assert own.tints is not None
    assert np.allclose(own.tints, shares, atol=0.004)  # a step of 8 bits


def test_a_mesh_without_materials_and_colours_has_none_of_its_own(tmp_path: Path) -> None:
    built = Painted()
    built.plate("plate", None, (0, 0), (1, 1))
    assert read(built, tmp_path).node("plate").own is None


def test_a_texture_travels_without_its_file(tmp_path: Path) -> None:
    file = tmp_path / "red.png"
    file.write_bytes(png([[(255, 0, 0)]]))
    kept, lost = Texture("red", file), Texture("lost", tmp_path / "none.png")
    sent = pickle.dumps((kept, lost))
    file.unlink()
    red, none = pickle.loads(sent)
    assert str(tmp_path).encode() not in sent
    assert red.pixels.tolist() == [[[255, 0, 0, 255]]]
    assert none.note == lost.note != ""


def test_a_texture_is_moved_as_its_transform_says(tmp_path: Path) -> None:
    """A quarter turn counterclockwise on the texture takes u to -v and v to u: (0, 1) lies at (1, 0)."""
    built = Painted()
    moved = {"offset": [0.5, 0], "rotation": np.pi / 2, "scale": [2, 1]}
    info = {"extensions": {"KHR_texture_transform": moved}}
    texture = built.texture([[(9, 9, 9)]])
    built.plate("plate", built.material(texture=texture, texture_info=info), (0, 0), (1, 1))
    own = read(built, tmp_path).node("plate").own
    assert own is not None
    assert own.uv is not None
    assert np.allclose(own.uv, [(1.5, 0), (1.5, -2), (0.5, -2), (0.5, 0)], atol=1e-6)


@pytest.mark.parametrize(
    ("factor", "mode", "cutoff", "sheer"),
    [
        (0.3, "BLEND", 0.5, True),
        (0.7, "BLEND", 0.5, False),
        (0.3, "MASK", 0.2, False),
        (0.3, "OPAQUE", 0.5, False),
    ],
)
def test_sight_passes_under_the_cutoff_and_through_glass_of_less_than_half(
    tmp_path: Path, factor: float, mode: str, cutoff: float, sheer: bool
) -> None:
    built = Painted()
    material = built.material((1, 1, 1, factor), alphaMode=mode, alphaCutoff=cutoff)
    built.plate("plate", material, (0, 0), (1, 1))
    assert read(built, tmp_path).node("plate").is_sheer == sheer


def test_a_missing_picture_is_told_only_where_it_matters(tmp_path: Path) -> None:
    built = Painted()
    texture = built.texture([[(9, 9, 9)]])
    built.tables["images"][0] = {"uri": "gone.png"}
    built.plate("plate", built.material(texture=texture), (0, 0), (1, 1))
    scene = read(built, tmp_path)
    assert scene.notes == ()
    (note,) = own_colour_notes(in_own_colours(scene, True))
    assert "gone.png" in note
    assert "cannot be read" in note
    built.tables["materials"][0]["alphaMode"] = "MASK"
    assert "gone.png" in read(built, tmp_path).notes[0]


def test_a_large_texture_is_made_smaller_and_said(tmp_path: Path) -> None:
    built = Painted()
    texture = built.texture(np.zeros((16, 4096, 3)))
    built.plate("plate", built.material(texture=texture), (0, 0), (1, 1))
    scene = in_own_colours(read(built, tmp_path), True)
    assert own_colour_notes(scene) == ("texture 'image 0' of 4096 x 16 px is read at 2048 x 8.",)


def test_broken_colours_leave_the_geometry(tmp_path: Path) -> None:
    built = Painted()
    built.plate("plate", 7, (0, 0), (1, 1), uv=[(0, 0)], colours=[(1, 1, 1)])
    node = read(built, tmp_path).node("plate")
    assert len(node.faces) == 2
    assert node.own is not None
    assert len(node.own.faults) == 2


def test_the_file_of_a_scene_says_what_shows_its_own_colours(tmp_path: Path) -> None:
    built = Painted()
    built.plate("plate", built.material((1, 0, 0, 1)), (0, 0), (1, 1))
    built.glb(tmp_path / FILE)
    for words, shows in (("", False), ('materials = "own"', True)):
        (tmp_path / "a.toml").write_text(f'[[mesh]]\nfile = "{FILE}"\n{words}\n')
        assert read_scene(tmp_path / "a.toml").node("plate").shows_own == shows
