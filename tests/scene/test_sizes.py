"""What a file promises is counted before memory is taken for it."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from cli_calls import SOURCE
from scene.built import Built, triangle_file
from stationpoint.base.errors import StudyWrong
from stationpoint.scene.file import read_scene

HELD = """
import resource, sys
resource.setrlimit(resource.RLIMIT_AS, (int(1.5 * 2**30), int(1.5 * 2**30)))
from stationpoint.cli import main
main()
"""


def promise(built: Built, count: int, kind: int = 5126, width: str = "VEC3") -> int:
    """An accessor without data: all zero, in any number, for a few bytes."""
    built.tables["accessors"].append({"componentType": kind, "type": width, "count": count})
    return len(built.tables["accessors"]) - 1


def refusal(path: Path) -> str:
    with pytest.raises(StudyWrong) as caught:
        read_scene(path)
    assert len(caught.value.message.splitlines()) == 1
    return caught.value.message


def bomb(path: Path, nodes: int) -> Path:
    built = triangle_file()
    built.tables["meshes"][0]["primitives"][0]["attributes"]["POSITION"] = promise(built, 49_999_998)
    for _ in range(nodes - 1):
        built.node(mesh=0)
    return built.glb(path)


def test_vertices_of_all_nodes_are_counted_before_any_is_made(tmp_path: Path) -> None:
    """1 and 20 nodes of 49 999 998 vertices each; within the address space that is asked for."""
    for nodes, said in ((1, "49999998"), (20, "999999960")):
        path = bomb(tmp_path / "bomb.glb", nodes)
        done = subprocess.run(
            [sys.executable, "-c", HELD, "check", str(path)],
            env={"PYTHONPATH": str(SOURCE), "PATH": "", "OPENBLAS_NUM_THREADS": "1"},
            capture_output=True,
            text=True,
            timeout=60,
        )
        assert done.returncode == 2
        assert done.stdout == ""
        assert done.stderr == (
            f"bomb.glb: holds {said} vertices once repeats are counted; at most 10000000 are drawn.\n"
        )


def test_triangles_of_a_list_and_a_strip_are_counted_by_their_indices(tmp_path: Path) -> None:
    """90 000 000 indices: a third as many triangles in a list, two fewer in a strip."""
    for mode, said in ((4, 30_000_000), (5, 89_999_998)):
        built = triangle_file()
        primitive = built.tables["meshes"][0]["primitives"][0]
        primitive |= {"mode": mode, "indices": promise(built, 90_000_000, 5125, "SCALAR")}
        words = refusal(built.glb(tmp_path / "a.glb"))
        assert words == f"a.glb: holds {said} triangles once repeats are counted; at most 20000000 are drawn."


def test_instances_are_counted(tmp_path: Path) -> None:
    built = triangle_file()
    places = {"TRANSLATION": promise(built, 100_000)}
    built.tables["nodes"][0]["extensions"] = {"EXT_mesh_gpu_instancing": {"attributes": places}}
    built.node(mesh=0)
    assert "holds 100001 parts once repeats are counted" in refusal(built.glb(tmp_path / "a.glb"))


def test_vertices_that_many_meshes_share_are_counted_where_they_are_used(tmp_path: Path) -> None:
    """200 meshes of one triangle each over one list of 60 000 vertices: 600 vertices are drawn."""
    built = Built()
    shared = built.accessor([(k % 3 == 1, k % 3 == 2, k) for k in range(60_000)])
    for k in range(200):
        primitive = {
            "attributes": {"POSITION": shared},
            "indices": built.accessor([k, k + 1, k + 2 + k], "u2"),
        }
        built.tables["meshes"].append({"primitives": [primitive]})
        built.node(mesh=k)
    scene = read_scene(built.glb(tmp_path / "a.glb"))
    assert [len(node.vertices) for node in scene.nodes] == [3] * 200


def test_morph_targets_are_counted_before_they_are_read(tmp_path: Path) -> None:
    """3 000 000 vertices moved by 50 targets."""
    built = triangle_file()
    many = promise(built, 3_000_000)
    built.tables["meshes"][0] = {
        "weights": [1.0] * 50,
        "primitives": [{"attributes": {"POSITION": many}, "targets": [{"POSITION": many}] * 50}],
    }
    assert "move 150000000 vertices; at most 100000000" in refusal(built.glb(tmp_path / "a.glb"))


def test_a_single_list_of_numbers_has_a_limit_of_its_own(tmp_path: Path) -> None:
    """The resting matrices of a skeleton: 4 000 000 of 16 numbers."""
    built = triangle_file()
    index = promise(built, 4_000_000, width="MAT4")
    built.tables["skins"] = [{"joints": [0], "inverseBindMatrices": index}]
    built.tables["nodes"][0]["skin"] = 0
    assert "claims 64000000 numbers; at most 60000000 are read" in refusal(built.glb(tmp_path / "a.glb"))


def test_repeated_solids_are_counted_by_their_vertices(tmp_path: Path) -> None:
    """A flight of 1000 steps has 3001 corners on each side: floor 1001, treads and risers 2000."""
    path = tmp_path / "stairs.toml"
    text = '[[solid]]\nshape = "stairs"\nsize = [1, 1, 1]\nsteps = 1000\n'
    row = "repeat = {{ count = {}, step = [1, 0, 0] }}\n"
    path.write_text(text + row.format(100_000))
    assert refusal(path) == (
        "stairs.toml: holds 600200000 vertices once repeats are counted; at most 10000000 are drawn."
    )
    path.write_text(text + row.format(2))
    assert [len(node.vertices) for node in read_scene(path).nodes] == [6002, 6002]


def test_the_same_mesh_many_times_is_counted_each_time(tmp_path: Path) -> None:
    """101 times 100 000 vertices, none of them read anew."""
    built = triangle_file()
    built.tables["meshes"][0]["primitives"][0]["attributes"]["POSITION"] = promise(built, 100_000)
    built.glb(tmp_path / "a.glb")
    path = tmp_path / "yard.toml"
    path.write_text('[[mesh]]\nfile = "a.glb"\n' * 101)
    assert "yard.toml: holds 10099899 vertices" in refusal(path)
