"""USD: units, axes, transforms, faces, references, instances, cameras, what is left out, what is broken."""

from __future__ import annotations

import sys
import threading
from math import atan, degrees
from pathlib import Path
from unittest.mock import patch

import numpy as np
import pytest

from scene.built import CUBE, CUBE_FACES, area, volume
from scene.written import needs_usd, usd_files, usda_text
from stationpoint.base.errors import MachineLacks, StudyWrong
from stationpoint.base.inputs import files_read, noting
from stationpoint.scene.file import read_scene
from stationpoint.scene.meshes.usd import read
from stationpoint.scene.types import Node, Scene

READER = read.READER
METRES = '(\n    metersPerUnit = 1\n    upAxis = "Y"\n)\n'
QUAD = """
int[] faceVertexCounts = [4]
int[] faceVertexIndices = [0, 1, 2, 3]
point3f[] points = [(0, 0, 0), (1, 0, 0), (1, 1, 0), (0, 1, 0)]
uniform token subdivisionScheme = "none"
"""
MOVED = """
double3 xformOp:translate = {}
uniform token[] xformOpOrder = ["xformOp:translate"]
"""
BOX = Node("box", CUBE * (1, 2, 3), CUBE_FACES)


def stage(folder: Path, body: str, head: str = METRES, name: str = "a.usda") -> Scene:
    path = folder / name
    lines = body.replace("{", "{\n").replace("}", "\n}\n")  # each value and each brace on a line of its own
    path.write_text(f"#usda 1.0\n{head}{lines}", "utf-8")
    return read_scene(path)


def mesh(name: str = "quad", more: str = "", body: str = QUAD) -> str:
    return f'def Mesh "{name}" {{ {body} {more} }}\n'


@needs_usd
def test_text_crate_and_package_are_one_scene(tmp_path: Path) -> None:
    found = [read_scene(path) for path in usd_files(tmp_path, usda_text([BOX]))]
    for scene in found:
        assert scene.node("box").vertices.tolist() == BOX.vertices.tolist()
        assert scene.node("box").closed
        assert scene.digest == found[0].digest
        assert scene.notes == ()


@needs_usd
def test_centimetres_and_z_up_become_metres_and_y_up(tmp_path: Path) -> None:
    """In the file: x to the right, y away, z up; 100 units a metre."""
    head = '(\n    metersPerUnit = 0.01\n    upAxis = "Z"\n)\n'
    place = MOVED.format("(300, 200, 100)")
    scene = stage(tmp_path, mesh(more=place), head)
    assert scene.node("quad").bounds == pytest.approx(np.array([[3, 1, -2.01], [3.01, 1, -2]]))


@needs_usd
def test_a_stage_without_a_unit_is_centimetres_and_says_so(tmp_path: Path) -> None:
    scene = stage(tmp_path, mesh(), '(\n    upAxis = "Y"\n)\n')
    assert scene.bounds()[1] == pytest.approx([0.01, 0.01, 0])
    assert scene.notes == (
        "a.usda: says no unit, which in USD means centimetres; if it is in metres, give it scale = 100.",
    )


@needs_usd
def test_transforms_nest_and_may_begin_anew(tmp_path: Path) -> None:
    """2 (p + x) below a group moved by 10 along z; the second one counts from the world again."""
    move = "double3 xformOp:translate = (1, 0, 0)\ndouble3 xformOp:scale = (2, 2, 2)\n"
    one = mesh("one", move + 'uniform token[] xformOpOrder = ["xformOp:scale", "xformOp:translate"]')
    anew = '["!resetXformStack!", "xformOp:translate"]'
    two = mesh("two", move + f"uniform token[] xformOpOrder = {anew}")
    group = MOVED.format("(0, 0, 10)")
    scene = stage(tmp_path, f'def Xform "group" {{ {group} {one} {two} }}')
    assert scene.node("one").bounds.tolist() == [[2, 0, 10], [4, 2, 10]]
    assert scene.node("two").bounds.tolist() == [[1, 0, 0], [2, 1, 0]]


@needs_usd
def test_faces_of_any_size_holes_and_left_hands(tmp_path: Path) -> None:
    """An arrow head bent in, of area 1, and a hole beside it that is no face; both hands face +Z."""
    body = """
    int[] faceVertexCounts = [4, 3]
    int[] faceVertexIndices = [0, 1, 2, 3, 0, 1, 2]
    int[] holeIndices = [1]
    point3f[] points = [(0, 0, 0), (1, 2, 0), (0, 1, 0), (-1, 2, 0)]
    uniform token subdivisionScheme = "none"
    """
    left = body.replace("[0, 1, 2, 3, 0", "[3, 2, 1, 0, 0") + '\nuniform token orientation = "leftHanded"'
    scene = stage(tmp_path, mesh("right", body=body) + mesh("left", body=left))
    for node in scene.nodes:
        assert area(node.vertices, node.faces) == pytest.approx(1)
        a, b, c = (node.vertices[node.faces[0, k]] for k in range(3))
        assert np.cross(b - a, c - a)[2] > 0


@needs_usd
def test_a_mirrored_box_still_faces_outward(tmp_path: Path) -> None:
    flip = 'double3 xformOp:scale = (-1, 1, 1)\nuniform token[] xformOpOrder = ["xformOp:scale"]'
    text = usda_text([BOX]).replace('def Xform "level"\n{', f'def Xform "level"\n{{\n{flip}')
    path = tmp_path / "a.usda"
    path.write_text(text)
    node = read_scene(path).nodes[0]
    assert volume(node.vertices, node.faces) == pytest.approx(2 * 4 * 6)


@needs_usd
def test_references_are_followed_and_known_as_files_read(tmp_path: Path) -> None:
    (tmp_path / "props").mkdir()
    stage(tmp_path / "props", mesh("seat"), '(\n    defaultPrim = "seat"\n)\n', "chair.usda")
    two = "".join(f'def "{name}" (references = @props/chair.usda@) {{}}\n' for name in ("left", "right"))
    with noting():
        scene = stage(tmp_path, two)
        assert {path.name for path in files_read()} == {"a.usda", "chair.usda"}
    assert [node.name for node in scene.nodes] == ["left", "right"]


@needs_usd
def test_instances_and_point_instances_stand_where_they_should(tmp_path: Path) -> None:
    """Two instances of a class, and three points of which one is masked; the prototype stays undrawn."""
    place = MOVED.format("(5, 0, 0)")
    body = f'class Xform "_chair" {{ {mesh("seat")} }}\n' + "".join(
        f'def Xform "{name}" (instanceable = true\ninherits = </_chair>) {{ {more} }}\n'
        for name, more in (("one", ""), ("two", place))
    )
    body += f"""
    def PointInstancer "trees" {{
        {place}
        rel prototypes = [</trees/kinds/tree>]
        int[] protoIndices = [0, 0, 0]
        int64[] invisibleIds = [1]
        point3f[] positions = [(0, 0, 0), (0, 0, -1), (0, 0, -2)]
        float3[] scales = [(1, 1, 1), (1, 1, 1), (2, 2, 2)]
        over "kinds" {{ def Xform "tree" {{ {mesh("crown", place.replace("5", "1"))} }} }}
    }}
    """
    scene = stage(tmp_path, body)
    assert {node.name: node.bounds[0].tolist() for node in scene.nodes} == {
        "seat": [0, 0, 0],
        "seat.2": [5, 0, 0],
        "crown": [6, 0, 0],
        "crown.2": [7, 0, -2],
    }
    assert scene.node("crown.2").bounds[1].tolist() == [9, 2, -2]


@needs_usd
def test_what_is_hidden_a_guide_or_no_mesh_is_left_out(tmp_path: Path) -> None:
    body = (
        f'def Xform "off" {{ token visibility = "invisible"\n{mesh("a")} }}\n'
        + "".join(mesh(use, f'uniform token purpose = "{use}"') for use in ("guide", "proxy", "render"))
        + 'def Sphere "ball" {}\n'
        + mesh("cage", body=QUAD.replace('"none"', '"catmullClark"'))
    )
    scene = stage(tmp_path, body)
    assert [node.name for node in scene.nodes] == ["render", "cage"]
    assert scene.notes == (
        "a.usda: marked as not visible, left out with all under it: 'off'.",
        "a.usda: of type Sphere, not drawn; export it as a mesh: 'ball'.",
        "a.usda: subdivision surfaces, drawn as their control cages: 'cage'.",
    )


@needs_usd
def test_cameras_have_their_pose_and_lens(tmp_path: Path) -> None:
    """50 mm on 36 x 24 mm: 2 atan(12 / 50) high. Orthographic apertures are tenths of a unit: 40 is 4 m."""
    place = MOVED.format("(1, 2, 3)")
    gate = "float horizontalAperture = 36\nfloat verticalAperture = 24\nfloat focalLength = 50\n"
    range_m = "float2 clippingRange = (0.1, 100)\n"
    flat = 'token projection = "orthographic"\nfloat horizontalAperture = 80\nfloat verticalAperture = 40\n'
    body = f'def Camera "lens" {{ {gate}{range_m}{place} }}\ndef Camera "flat" {{ {flat}{range_m} }}\n'
    lens, flat_one = stage(tmp_path, mesh() + body).cameras
    assert (lens.name, lens.file) == ("lens", "a.usda")
    assert lens.vfov_deg == pytest.approx(degrees(2 * atan(12 / 50)))
    assert lens.aspect == pytest.approx(1.5)
    assert lens.near_m == pytest.approx(0.1)
    assert lens.view @ [1, 2, 3, 1] == pytest.approx([0, 0, 0, 1])
    assert lens.view @ [1, 2, 2, 1] == pytest.approx([0, 0, -1, 1])
    assert (flat_one.vfov_deg, flat_one.view_height_m, flat_one.aspect) == (None, pytest.approx(4), 2)


@needs_usd
@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("a.usda", b"", "is empty"),
        ("a.usda", b"#usda 1.0\ndef", "is not a USD file that can be read"),
        ("a.usdc", b"PXR-USDC" + bytes(50), "is not a USD file that can be read"),
        ("a.usdz", b"PK\x03\x04junk", "is not a USD file that can be read"),
        ("a.usda", b"#usda 1.0\n", "has no faces"),
        ("a.usda", b'#usda 1.0\ndef "b" (references = @no.usda@) {}', 'could not open asset "no.usda"'),
        ("a.usda", b"#usda 1.0\n" + mesh(body=QUAD.replace("[4]", "[5]")).encode(), "promises 5 corners"),
        ("a.usda", b"#usda 1.0\n" + mesh(body=QUAD.replace("3]", "9]")).encode(), "asks for vertex 10 of 4"),
        ("a.usda", b"#usda 1.0\n" + mesh(body=QUAD.replace("(1, 1, 0)", "(1, nan, 0)")).encode(), "finite"),
        ("a.usda", b"#usda 1.0\n(\nmetersPerUnit = 0\n)\n" + mesh().encode(), "unit is 0"),
    ],
)
def test_broken_stages_are_refused_with_one_sentence(
    tmp_path: Path, name: str, data: bytes, said: str
) -> None:
    (tmp_path / name).write_bytes(data)
    with pytest.raises(StudyWrong, match=said) as caught:
        read_scene(tmp_path / name)
    assert caught.value.message.startswith(f"{name}: ")
    assert len(caught.value.message.splitlines()) == 1
    assert str(tmp_path) not in caught.value.message


@needs_usd
def test_more_instances_than_are_drawn_are_refused_by_number(tmp_path: Path) -> None:
    body = f'def PointInstancer "trees" {{ rel prototypes = [</trees/tree>]\n{mesh("tree")}\n'
    body += f"int[] protoIndices = {[0] * 100_001}\n}}\n"
    with pytest.raises(StudyWrong, match="100001 instances; at most 100000"):
        stage(tmp_path, body)


@needs_usd
def test_reading_leaves_neither_the_package_nor_a_thread_in_this_process(tmp_path: Path) -> None:
    before = threading.active_count()
    stage(tmp_path, mesh())
    assert "pxr" not in sys.modules
    assert threading.active_count() == before


def test_a_stage_without_its_package_is_told_what_installs_it(tmp_path: Path) -> None:
    lacking = tmp_path / "lacking.py"
    lacking.write_text(
        "import runpy, sys\n"
        "sys.modules['pxr'] = None\n"
        f"sys.argv[0] = {str(READER)!r}\n"
        "runpy.run_path(sys.argv[0], None, '__main__')\n"
    )
    with patch.object(read, "READER", lacking), pytest.raises(MachineLacks) as caught:
        stage(tmp_path, mesh())
    assert str(caught.value) == (
        "a.usda: is a USD file, and usd-core, which reads that, is not installed.\n"
        'Install it with: pip install "stationpoint[usd]"'
    )
