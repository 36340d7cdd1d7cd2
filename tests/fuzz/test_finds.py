"""Inputs that once broke a call, each as it was found, and what the call must say of it now.

A find is a row here: what it is, the call, the exit code and the words. Where one broke by the memory or the
time that it took, the call is a process within MOST_BYTES and LONGEST_S.
"""

from __future__ import annotations

import csv
import json
import re
import struct
import subprocess
import sys
from collections.abc import Iterable
from pathlib import Path
from tempfile import TemporaryDirectory
from xml.etree import ElementTree as ET

import numpy as np
import pytest

import cli_calls
from fuzz.inputs import good
from fuzz.tried import FOREIGN, LONGEST_S
from scene.built import CUBE, CUBE_FACES, Built, triangle_file
from stationpoint.record.png import png_bytes, read_png_texts

MOST_BYTES = 3 << 29  # 1.5 GiB
OBEYED = re.compile(r"[\x00-\x09\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")  # what a terminal acts upon
HELD = (
    f"import resource\nresource.setrlimit(resource.RLIMIT_AS, ({MOST_BYTES}, {MOST_BYTES}))\n"
    "from stationpoint import cli\ncli.main()"
)
PLY = """ply
format binary_little_endian 1.0
element vertex {}
{}element face 1
property list {}
end_header
"""
XYZ = "property float x\nproperty float y\nproperty float z\n"
CORNERS = struct.pack("<9f", 0, 0, 0, 1, 0, 0, 0, 1, 0)
WIDE = np.array([[0, 0, 0], [1e202, 0, 0], [1e202, 1e202, 0], [0, 1e202, 0]], "<f8")


def ply(listed: str, face: bytes, properties: str = XYZ, corners: bytes = CORNERS, count: int = 3) -> bytes:
    """A binary PLY of one face."""
    return PLY.format(count, properties, listed).encode() + corners + face


def comb(teeth: int) -> bytes:
    """An OBJ of one polygon with two corners a tooth, along its edge and back."""
    there = [f"v {x} 0 {5 * (x % 2 == 0)}" for x in range(teeth)]
    back = [f"v {x} 0 {4.5 if x % 2 == 0 else -1}" for x in reversed(range(teeth))]
    return "\n".join([*there, *back, f"f {' '.join(map(str, range(1, 2 * teeth + 1)))}", ""]).encode()


def bomb(folder: Path, nodes: int) -> bytes:
    """A GLB whose accessor promises 49 999 998 vertices and has no bytes for them (zeros), in some nodes."""
    built = triangle_file()
    zeros = {"componentType": 5126, "type": "VEC3", "count": 49_999_998}
    built.tables["accessors"].append(zeros)
    position = len(built.tables["accessors"]) - 1
    built.tables["meshes"][0]["primitives"][0] = {"attributes": {"POSITION": position}}
    for k in range(nodes - 1):
        built.node(mesh=0, translation=[k + 1, 0, 0])
    return built.glb(folder / "made.glb").read_bytes()


def call(*words: str, cwd: Path) -> cli_calls.Result:
    """A call in this process that may say nothing of a library's, and nothing that a terminal obeys."""
    result = cli_calls.call(*words, cwd=cwd)
    assert not FOREIGN.search(result.err), result.err
    assert not OBEYED.search(result.err + result.out.decode(errors="replace"))
    return result


def held(*words: str, cwd: Path) -> cli_calls.Result:
    """A call as a process of its own within MOST_BYTES and LONGEST_S."""
    import resource  # not on every system

    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    env = cli_calls.environment(OPENBLAS_NUM_THREADS="1")
    ended = subprocess.run(
        [sys.executable, "-c", HELD, *words], cwd=cwd, env=env, capture_output=True, timeout=120, check=False
    )
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    assert after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime < LONGEST_S
    return cli_calls.Result(ended.returncode, ended.stdout, ended.stderr.decode())


MESHES = {
    # Normals as old exporters write them.
    "stl-traceback.stl": (
        b"solid x\nfacet normal -1.#IND -1.#IND -1.#IND\nouter loop\nvertex 0 0 0\nvertex 1 0 0\n"
        b"vertex 0 1 0\nendloop\nendfacet\nendsolid x\n",
        0,
        "has normals that are not numbers; they are not needed.",
    ),
    "ply-count-nan.ply": (
        ply("float int vertex_indices", struct.pack("<f3i", np.nan, 0, 1, 2)),
        2,
        "how long a list is, and which vertices a face has, are whole numbers.",
    ),
    "ply-count-inf.ply": (
        ply("float int vertex_indices", struct.pack("<f3i", np.inf, 0, 1, 2)),
        2,
        "how long a list is, and which vertices a face has, are whole numbers.",
    ),
    "ply-same-property-twice.ply": (
        ply("uchar int vertex_indices", struct.pack("<B3i", 3, 0, 1, 2), XYZ + "property float z\n"),
        2,
        "its header gives 'vertex' two properties 'z'.",
    ),
    "obj-inf-quad-warning.obj": (
        b"v 0 0 0\nv inf 0 0\nv 1 1 0\nv 0 1 0\nf 1 2 3 4\n",
        2,
        "has a vertex whose position is not a finite number.",
    ),
    "ply-huge-quad-warning.ply": (
        ply(
            "uchar int vertex_indices",
            struct.pack("<B4i", 4, 0, 1, 2, 3),
            XYZ.replace("float", "double"),
            WIDE.tobytes(),
            4,
        ),
        2,
        "m from the origin; at most 1e+09 m are drawn.",
    ),
    "ply-nan-index-warning.ply": (
        ply("uchar float vertex_indices", struct.pack("<B3f", 3, 0, 1, np.nan)),
        2,
        "how long a list is, and which vertices a face has, are whole numbers.",
    ),
    "comb1000.obj": (comb(500), 0, "1 node, 998 triangles"),  # a polygon of n corners is n − 2 triangles
    "comb2000.obj": (comb(1000), 0, "1 node, 1998 triangles"),
}


@pytest.mark.parametrize("name", MESHES)
def test_mesh_that_broke_a_call_is_read_or_refused_in_a_sentence(name: str, tmp_path: Path) -> None:
    data, code, said = MESHES[name]
    (tmp_path / name).write_bytes(data)
    result = call("check", name, cwd=tmp_path)
    assert result.code == code
    assert said in result.err + result.text
    if code:
        assert len(result.err.splitlines()) == 1
        assert result.err.startswith(f"{name}: ")


def test_comb_of_two_thousand_corners_takes_no_seconds(tmp_path: Path) -> None:
    (tmp_path / "comb2000.obj").write_bytes(comb(1000))
    result = held("check", "comb2000.obj", cwd=tmp_path)
    assert (result.code, "1998 triangles" in result.text) == (0, True)


@pytest.mark.skipif(sys.platform != "linux", reason="memory is bounded as Linux does it")
@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("bomb-480-bytes.glb", "holds 49999998 vertices once repeats are counted; at most"),
        ("bomb-1-kB-20-nodes.glb", "holds 999999960 vertices once repeats are counted; at most"),
        ("stairs.toml", "holds 600200000 vertices once repeats are counted; at most"),
        ("png-bomb-rows.png", "holds more than 64 MiB of text; so much is not read."),
    ],
)
def test_few_bytes_that_promise_much_are_refused_within_memory(name: str, said: str, tmp_path: Path) -> None:
    if name.endswith(".glb"):
        data = bomb(tmp_path, 20 if "20" in name else 1)
    elif name.endswith(".toml"):
        data = b'[[solid]]\nshape="stairs"\nsize=[1,1,1]\nsteps=1000\nrepeat={count=100000,step=[1,0,0]}\n'
    else:
        rows = "{}," * 24_000_000  # 72 MB; found with 250, which take longer to pack
        head = '{"tool":{"name":"stationpoint","version":"0.1.0"},"renderer":"gl","variants":[],"rows":['
        data = lying(record=f"{head}{rows}{{}}]}}")
    (tmp_path / name).write_bytes(data)
    result = held("inspect" if name.endswith(".png") else "check", name, cwd=tmp_path)
    assert result.code == 2
    assert len(result.err.splitlines()) == 1
    assert said in result.err


def texts_of_a_sheet() -> dict[str, str]:
    """What a sheet's PNG keeps, by keyword."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "drawn.png"
        path.write_bytes(good()[path.name])
        return dict(read_png_texts(path))


def lying(**texts: str) -> bytes:
    """A sheet's PNG that says something else in one of its texts."""
    said = texts_of_a_sheet() | {f"stationpoint {keyword}": words for keyword, words in texts.items()}
    return png_bytes(np.zeros((4, 4, 3), dtype=np.uint8), said)


def test_cell_width_of_infinity_is_refused(tmp_path: Path) -> None:
    drawing = texts_of_a_sheet()["stationpoint drawing"]
    infinite = re.sub(r'("cell_width": )\d+', r"\1Infinity", drawing)
    assert infinite != drawing
    (tmp_path / "png-cell-width-infinity.png").write_bytes(lying(drawing=infinite))
    result = call("inspect", "png-cell-width-infinity.png", cwd=tmp_path)
    assert (result.code, "does not say how it was drawn" in result.err) == (2, True)


def test_record_without_a_renderer_is_refused(tmp_path: Path) -> None:
    record = json.loads(good()["drawn.json"])
    del record["renderer"]
    (tmp_path / "png-record-without-renderer.png").write_bytes(lying(record=json.dumps(record)))
    result = call("inspect", "png-record-without-renderer.png", cwd=tmp_path)
    assert (result.code, "is JSON but no record" in result.err) == (2, True)


@pytest.mark.parametrize("folder", ["../scenes", "{}/scenes"])
def test_scene_of_a_sheet_is_not_looked_for_outside_its_folder(folder: str, tmp_path: Path) -> None:
    for place in ("scenes", "sheets"):
        (tmp_path / place).mkdir()
    (tmp_path / "scenes" / "quarry.glb").write_bytes(good()["quarry.glb"])
    scene = f"{folder.format(tmp_path)}/quarry.glb"
    lie = lying(study=f"scene = {json.dumps(scene)}\n")
    (tmp_path / "sheets" / "png-dotdot-scene.png").write_bytes(lie)
    result = call(
        "inspect", "png-dotdot-scene.png", "--redraw", "o.png", "--workers", "1", cwd=tmp_path / "sheets"
    )
    assert (result.code, "lies outside its folder" in result.err) == (2, True)
    assert not (tmp_path / "sheets" / "o.png").exists()


def test_escape_sequence_in_a_sheets_version_is_shown_as_what_it_is(tmp_path: Path) -> None:
    record = json.loads(good()["drawn.json"])
    record["tool"]["version"] = "\x1b[2J\x1b]0;pwn\x07"
    (tmp_path / "png-escape-in-version.png").write_bytes(lying(record=json.dumps(record)))
    result = call("inspect", "png-escape-in-version.png", cwd=tmp_path)
    assert (result.code, r"\x1b[2J\x1b]0;pwn\x07" in result.text) == (0, True)


@pytest.mark.parametrize("words", [("handoff", "."), ("handoff", ".", "--reversed", "--pitch", "up")])
def test_folder_that_is_handed_off_is_refused(words: tuple[str, ...], tmp_path: Path) -> None:
    result = call(*words, cwd=tmp_path)
    assert (result.code, result.err) == (2, ". is a folder; name a study, scene or mesh file in it.\n")


NAMES = ["<script>alert(1)</script>", "<b>&\"'", "=1+1", "=cmd|' /C calc'!A0", "+1+1", "-1+1", "@SUM(A1)",
         "\t=1+1", "\r=1+1", "$(id)", "`id`", "; rm -rf /", "a\nb", "\x1b[2J\x1b[31mred", "\x1b]0;pwn\x07",
         "\x9b31m", "\u202egnp.exe", "x" * 4000, "$\\frac{1}{$", "$x^2$", "_y_", "a,b;c\td",
         '"quoted"', "\0nul", "\u2028ls", "%s%d{0}", "]]>", "--><svg onload=alert(1)>", "javascript:alert(1)",
         "\U0001f600", "http://127.0.0.1/x"]  # fmt: skip


def names(folder: Path) -> None:
    """A level and its study, whose names mean something to a terminal, a browser, a shell or a table."""
    built = Built()
    mesh = built.mesh(CUBE, CUBE_FACES)
    for k, name in enumerate(NAMES):
        built.node(name=name, mesh=mesh, translation=[k % 8 * 2.0, 0, -2.0 * (k // 8)])
    built.tables["cameras"] = [{"type": "perspective", "perspective": {"yfov": 0.7, "znear": 0.1}}]
    built.node(name="\x1b[2J=cam", camera=0, translation=[0, 2, 9])
    built.glb(folder / "names.glb")

    def table(**keys: object) -> str:
        # JSON's strings are TOML's, but for what JSON writes as two escapes.
        pairs = (f"{key} = {json.dumps(value, ensure_ascii=False)}" for key, value in keys.items())
        return f"{{{', '.join(pairs)}}}"

    def entries(tables: Iterable[str]) -> str:
        return f"[{', '.join(tables)}]"

    level = [[[k, 0.5, 0], [k, 0.5, -4.1 - k / 10]] for k in range(12)]
    gaps = (table(name=name, **{"from": a, "to": b}) for name, (a, b) in zip(NAMES, level, strict=False))
    shown = table(name="=view\x1b[31m<v>", diagonal_in=24, pixels=[1920, 1080], eye_distance_m=0.6)
    limit = table(reading="targets.*.seen", min=0.99, why="=why\x1b[31m <script>")
    lines = [
        "title = " + json.dumps("=1+1 <script>alert(1)</script> \x1b[2J\x1b]0;t\x07 $x$ \u202e"),
        'scene = "names.glb"',
        "subject = " + table(name="=sub\x1b[31m<i>", at=[0, 0.5, 3]),
        "target = " + entries(table(name=name, node=name) for name in NAMES),
        "gap = " + entries(gaps),
        'camera = { focal_mm = 35, distance_m = 12, pitch_deg = 25, aspect = "16:9" }',
        "sweep = { columns = { focal_mm = [24, 50] } }",
        "viewing = " + entries([shown]),
        "reserved = " + entries([table(name="=res\x1b[31m", rect=[0, 0.8, 0.2, 1])]),
        "limit = " + entries([limit]),
    ]
    (folder / "names.study.toml").write_text("\n".join(lines), "utf-8")


@pytest.mark.parametrize("name", ["names.glb", "names.study.toml"])
def test_names_that_a_terminal_obeys_are_shown_as_they_are(name: str, tmp_path: Path) -> None:
    names(tmp_path)
    result = call("check", name, cwd=tmp_path)
    assert result.code == 0, result.err
    assert r"\x1b[2J=cam" in result.text
    assert "<script>alert(1)</script>" in result.text
    assert name == "names.glb" or r"=sub\x1b[31m<i>" in result.text


HOP = "from = [1.7, 0.8, -2.2]\nto = [4.5, 0.8, -2.2]\n[camera]\nfocal_mm = 35\ndistance_m = 10\n"
PITCHES = "[sweep]\ncolumns = { pitch_deg = [10, 20] }\n"


@pytest.mark.parametrize(
    ("study", "title", "gap", "words"),
    [
        ("dollar", "Do the $$ signs read?", "hop", "Do the $$ signs read?"),
        ("dollar2", "Is it worth $5 or $10 to the player?", "hop", "Is it worth $5 or $10 to the player?"),
        ("bell", "bell", "\x07", "bell"),
    ],
)
def test_chart_has_the_words_as_written_and_is_well_formed(
    study: str, title: str, gap: str, words: str, tmp_path: Path
) -> None:
    (tmp_path / "quay.toml").write_bytes(good()["quay.toml"])
    text = (
        f'title = {json.dumps(title)}\nscene = "quay.toml"\n[[gap]]\nname = {json.dumps(gap)}\n{HOP}{PITCHES}'
    )
    (tmp_path / f"{study}.study.toml").write_text(text, "utf-8")
    reading = ("--reading", "gaps.*.true_span_m")
    result = call("chart", f"{study}.study.toml", *reading, "-o", "c.svg", cwd=tmp_path)
    assert result.code == 0, result.err
    said = [one.text for one in ET.parse(tmp_path / "c.svg").iter("{http://www.w3.org/2000/svg}text")]
    assert words in said


CJK = """title = "どのカメラで跳べるか 港の写真 🚢 안녕하세요 שלום नमस्ते"
scene = "quay.toml"
[subject]
name = "主人公"
at = [1.4, 0.8, -2.2]
[[target]]
name = "船三号"
node = "barge three"
[camera]
focal_mm = 35
distance_m = 10
[sweep]
columns = { focal_mm = [24, 50] }
"""


@pytest.mark.parametrize(
    "words",
    [("sheet", "-o", "c.png", *cli_calls.SMALL), ("chart", "--reading", "targets.*.seen", "-o", "c.png")],
)
def test_the_one_sign_that_no_font_has_is_told_and_all_others_are_set(
    words: tuple[str, ...], tmp_path: Path
) -> None:
    (tmp_path / "quay.toml").write_bytes(good()["quay.toml"])
    (tmp_path / "cjk.study.toml").write_text(CJK, "utf-8")
    more = ("--renderer", "rays") if words[0] == "chart" else ()
    result = call(words[0], "cjk.study.toml", *words[1:], *more, cwd=tmp_path)
    assert result.code == 0
    assert "No font at hand has U+1F6A2 (1 sign), in the title;" in result.err


def test_target_called_as_a_reading_is_judged_by_its_own_name(tmp_path: Path) -> None:
    (tmp_path / "quay.toml").write_bytes(good()["quay.toml"])
    text = (
        'scene = "quay.toml"\n[[target]]\nname = "door.seen"\nnode = "barge three"\n'
        '[camera]\nfocal_mm = 35\ndistance_m = 10\n[[limit]]\nreading = "targets.*.seen"\nmin = 0.5\n'
    )
    (tmp_path / "seen.study.toml").write_text(text, "utf-8")
    result = call("judge", "seen.study.toml", "--renderer", "rays", "--workers", "1", cwd=tmp_path)
    assert result.code in (0, 1)
    assert "door.seen" in result.text
    assert "targets.door.seen.seen" in result.text


def test_cell_of_a_table_that_begins_with_an_equals_sign_is_told_in_the_docs(tmp_path: Path) -> None:
    name = '=HYPERLINK("http://127.0.0.1/","open")'
    (tmp_path / "csv.toml").write_text(
        f'[ground]\n[[solid]]\nname = {json.dumps(name)}\nshape = "box"\nsize = [3, 3, 0.2]\nat = [0, 0, 2]\n'
        '[[solid]]\nname = "goal"\nshape = "box"\nsize = [1, 1, 1]\n',
        "utf-8",
    )
    (tmp_path / "csv.study.toml").write_text(
        'scene = "csv.toml"\n[[target]]\nname = "goal"\nnode = "goal"\n'
        "[camera]\nfocal_mm = 35\ndistance_m = 8\npitch_deg = 10\n",
        "utf-8",
    )
    words = ("--renderer", "rays", "--workers", "1", "--csv", "c.csv")
    assert call("measure", "csv.study.toml", *words, cwd=tmp_path).code == 0
    with (tmp_path / "c.csv").open(newline="", encoding="utf-8") as lines:
        (row,) = csv.DictReader(lines)
    assert name in row.values()  # as it is, so that programs find it again
    page = (Path(__file__).parents[2] / "docs" / "reading-a-sheet.md").read_text("utf-8")
    assert "A spreadsheet takes a cell that begins with `=`" in page
