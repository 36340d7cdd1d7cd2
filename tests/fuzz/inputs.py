"""Inputs of every kind that the program reads, each a good one broken at random, and the call made of it.

A kind is a function of `random.Random` in KINDS: the same chance gives the same Case, so hypothesis draws
from it in the suite and a seed does in the long run.
"""

from __future__ import annotations

import json
import struct
import zlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

import numpy as np

import cli_calls
from fuzz.mutate import ODD_INTS, broken_bytes, broken_text, broken_tree
from scene.built import CUBE, CUBE_FACES, Built

SCENES = Path(__file__).parents[2] / "scenes"
QUICK = ("--renderer", "rays", "--cell-width", "320", "--workers", "1", "--quiet")


@dataclass(frozen=True)
class Case:
    """Files of a folder, the call made in it, and which file (or "words") has been broken."""

    files: Mapping[str, bytes]
    words: tuple[str, ...]
    broken: str
    may_write: frozenset[str] = field(default=frozenset())  # of the files


@cache
def good() -> dict[str, bytes]:
    """Files that are right, by name: the demos' studies and scenes, a yard with its sheet, meshes."""
    files = {path.name: path.read_bytes() for path in sorted(SCENES.iterdir())}
    with TemporaryDirectory() as folder:
        place = Path(folder)
        cli_calls.yard(place)
        sheet = ("sheet", "yard.study.toml", "-o", "drawn.png", *QUICK)
        drawn = cli_calls.process(*sheet, cwd=place)  # Embree's threads survive no fork of this process
        assert drawn.code == 0, drawn.err
        handed = cli_calls.process("handoff", "yard.study.toml", "-o", "camera.json", cwd=place)
        assert handed.code == 0, handed.err
        _tree().glb(place / "tree.glb")
        _tree().gltf(place / "tree.gltf", "tree.bin")
        files |= cli_calls.listing(place)
    return files | _plain_meshes()


def _tree() -> Built:
    built = Built()
    points, faces = built.accessor(CUBE), built.accessor(CUBE_FACES.ravel(), "u2")
    coloured = {"POSITION": points, "COLOR_0": built.accessor(np.full((8, 3), 0.5))}
    primitive = {"attributes": coloured, "indices": faces, "material": 0}
    built.tables["meshes"].append({"primitives": [primitive]})
    built.tables["materials"] = [{"pbrMetallicRoughness": {"baseColorFactor": [0.5, 0.4, 0.3, 1]}}]
    eye = {"type": "perspective", "perspective": {"yfov": 0.7, "aspectRatio": 1.5, "znear": 0.1}}
    built.tables["cameras"] = [eye]
    child = built.node(root=False, name="crate", mesh=0, translation=[0, 1, 0], rotation=[0, 0, 0, 1])
    built.node(name="yard", children=[child, built.node(root=False, name="eye", camera=0)])
    built.node(name="pad", mesh=0, scale=[5, 0.1, 5])
    return built


def _plain_meshes() -> dict[str, bytes]:
    corners = [tuple(float(x) for x in point) for point in CUBE]
    lines = [f"v {x} {y} {z}" for x, y, z in corners] + ["o crate", "g side"]
    lines += [f"f {a + 1}//1 {b + 1} {c + 1}/2/1" for a, b, c in CUBE_FACES] + ["f 1 2 4 3", "f -1 -2 -4"]
    head = "ply\nformat {} 1.0\ncomment x\nelement vertex 8\n"
    head += "property float x\nproperty float y\nproperty float z\n"
    head += "element face 12\nproperty list uchar int vertex_indices\nend_header\n"
    rows = [f"{x} {y} {z}" for x, y, z in corners] + [f"3 {a} {b} {c}" for a, b, c in CUBE_FACES]
    packed = CUBE.astype("<f4").tobytes()
    packed += b"".join(struct.pack("<B3i", 3, *map(int, face)) for face in CUBE_FACES)
    facets = b"".join(struct.pack("<12fH", 0, 0, 1, *CUBE[face].ravel(), 0) for face in CUBE_FACES)
    written = ["solid crate"]
    for face in CUBE_FACES:
        spots = [f"vertex {x} {y} {z}" for x, y, z in CUBE[face]]
        written += ["facet normal 0 0 1", "outer loop", *spots, "endloop", "endfacet"]
    return {
        "m.obj": "\n".join(lines).encode(),
        "text.ply": (head.format("ascii") + "\n".join(rows) + "\n").encode(),
        "m.ply": head.format("binary_little_endian").encode() + packed,
        "m.stl": b"crate".ljust(80) + struct.pack("<I", len(CUBE_FACES)) + facets,
        "text.stl": "\n".join([*written, "endsolid crate"]).encode(),
    }


def _picked(*names: str) -> dict[str, bytes]:
    return {name: good()[name] for name in names}


def study(chance: Random) -> Case:
    """A study with lines and values changed: checked, and a small one measured now and then."""
    if chance.randrange(8) == 0:
        files = _picked("yard.study.toml", "yard.toml")
        name, words = "yard.study.toml", ("measure", "yard.study.toml", "--json", "r.json", *QUICK)
    else:
        demo = chance.choice(["quay", "greenhouse", "quarry", "rooftop", "yard"])
        name = f"{demo}.study.toml"
        files = _picked(name, f"{demo}.toml", "quarry.glb")
        words = ("check", name)
    files[name] = broken_text(chance, files[name].decode()).encode("utf-8", "surrogatepass")
    return Case(files, words, name)


def scene(chance: Random) -> Case:
    """A scene file with lines and values changed."""
    name = chance.choice(["quay", "greenhouse", "quarry", "rooftop", "yard"]) + ".toml"
    files = _picked(name, "quarry.glb")
    files[name] = broken_text(chance, files[name].decode()).encode("utf-8", "surrogatepass")
    return Case(files, ("check", name, *(["--nodes", "*"] if chance.randrange(2) else [])), name)


def mesh(chance: Random) -> Case:
    """A mesh file: bytes changed, or numbers and words where it is text, or its tree where it is glTF."""
    name = chance.choice(["m.obj", "text.ply", "m.ply", "m.stl", "text.stl", "tree.glb", "tree.gltf"])
    files = _picked(name, *(["tree.bin"] if name == "tree.gltf" else []))
    data = files[name]
    if name in ("m.obj", "text.ply", "text.stl") and chance.randrange(3):
        data = broken_text(chance, data.decode()).encode("utf-8", "surrogatepass")
    elif name == "tree.gltf" and chance.randrange(4):
        data = json.dumps(broken_tree(chance, json.loads(data))).encode()
    elif name == "tree.glb" and chance.randrange(4):
        data = _broken_glb(chance, data)
    else:
        data = broken_bytes(chance, data)
    files[name] = data
    command = ("mesh", name, "-o", "again.glb") if chance.randrange(8) == 0 else ("check", name)
    return Case(files, command, name)


def _broken_glb(chance: Random, data: bytes) -> bytes:
    length = struct.unpack("<I", data[12:16])[0]
    tree, rest = json.loads(data[20 : 20 + length]), data[20 + length :]
    text = json.dumps(broken_tree(chance, tree)).encode()
    text += b" " * (-len(text) % 4)
    if chance.randrange(4) == 0:
        rest = rest[:8] + broken_bytes(chance, rest[8:])
    chunks = struct.pack("<I4s", len(text), b"JSON") + text + rest
    return struct.pack("<4sII", b"glTF", 2, 12 + len(chunks)) + chunks


def picture(chance: Random) -> Case:
    """A sheet's PNG: bytes, chunks or the record inside changed (checksums made right again)."""
    data = good()["drawn.png"]
    data = broken_bytes(chance, data) if chance.randrange(4) == 0 else _broken_chunks(chance, data)
    words = ("inspect", "p.png")
    if chance.randrange(10) == 0:
        words = ("inspect", "p.png", "--redraw", "-o", "again.png", "--workers", "1")
    return Case({**_picked("yard.toml"), "p.png": data}, words, "p.png")


def _broken_chunks(chance: Random, data: bytes) -> bytes:
    out, at, wanted = [data[:8]], 8, chance.choice([b"iTXt", b"iTXt", b"iTXt", b"IHDR", b"IDAT", b"IEND"])
    while at < len(data):
        size = struct.unpack(">I", data[at : at + 4])[0]
        name, body = data[at + 4 : at + 8], data[at + 8 : at + 8 + size]
        if name == wanted and chance.randrange(2):
            body = _broken_text_chunk(chance, body) if name == b"iTXt" else broken_bytes(chance, body)
        times = chance.choice([0, 2]) if chance.randrange(12) == 0 else 1
        out += [
            struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))
        ] * times
        at += 12 + size
    return b"".join(out)


def _broken_text_chunk(chance: Random, body: bytes) -> bytes:
    keyword, packed, _, rest = (
        body.split(b"\0", 1)[0],
        body.split(b"\0", 1)[1][0],
        0,
        body.split(b"\0", 1)[1][4:],
    )
    text = zlib.decompress(rest) if packed else rest
    if text[:1] == b"{":
        text = json.dumps(broken_tree(chance, json.loads(text))).encode()
    else:
        text = broken_text(chance, text.decode()).encode("utf-8", "surrogatepass")
    return keyword + b"\0\1\0\0\0" + zlib.compress(text)


def record(chance: Random) -> Case:
    """A record with values of its tree changed, compared with the right one."""
    tree = json.loads(good()["drawn.json"])
    words = (
        ("compare", "drawn.json", "new.json")
        if chance.randrange(2)
        else ("compare", "new.json", "drawn.json")
    )
    if chance.randrange(4) == 0:
        words = ("judge", "yard.study.toml", "--baseline", "new.json", *QUICK)
    broken = json.dumps(broken_tree(chance, tree)).encode()
    if chance.randrange(6) == 0:
        broken = broken_bytes(chance, broken)
    files = _picked("drawn.json", "yard.study.toml", "yard.toml")
    return Case({**files, "new.json": broken}, words, "new.json")


def port(chance: Random) -> Case:
    """What checks a port: cameras handed off, or its pixels; or a study whose camera is one of them."""
    files = {**_picked("camera.json", "yard.toml"), "port.csv": good()["camera.points.csv"]}
    broken = chance.choice(["camera.json", "camera.json", "port.csv"])
    if broken == "port.csv":
        files[broken] = broken_text(chance, files[broken].decode()).encode("utf-8", "surrogatepass")
    else:
        files[broken] = json.dumps(broken_tree(chance, json.loads(files[broken]))).encode()
    if chance.randrange(4):
        return Case(files, ("check-port", "port.csv", "camera.json"), broken)
    study = good()["yard.study.toml"].decode().split("[camera]")[0] + '[camera]\nfrom = "camera.json#A1"\n'
    return Case({**files, "own.study.toml": study.encode()}, ("check", "own.study.toml"), broken)


NOTES = """[decision]
chosen = "A1"
by = "AK"
because = "the crate shows"
[[note]]
variant = "A1"
by = "AK"
text = "too wide"
[[note]]
variant = "A2"
text = "flat"
"""


def review(chance: Random) -> Case:
    """Notes of a review, as a page saves them, taken into a study."""
    broken = broken_text(chance, NOTES).encode("utf-8", "surrogatepass")
    files = {**_picked("yard.study.toml", "yard.toml"), "notes.toml": broken}
    said = ("choose", "yard.study.toml", "--from", "notes.toml")
    return Case(files, said, "notes.toml", frozenset({"yard.study.toml"}))


def words(chance: Random) -> Case:
    """A command line: a command with some of its own options, right values and odd ones."""
    import click

    from stationpoint.cli import COMMANDS, stationpoint

    # Nothing that waits for ever, or writes elsewhere.
    name = chance.choice([name for name in COMMANDS if name not in ("demo", "watch", "serve")])
    command = stationpoint.get_command(click.Context(stationpoint), name)
    assert command is not None
    said = [name]
    inputs = ["yard.study.toml", "yard.toml", "drawn.png", "drawn.json", "tree.glb", "nothing.toml", "", "."]
    for parameter in command.params:
        if isinstance(parameter, click.Argument):
            said.append(inputs[0] if chance.randrange(4) else chance.choice(inputs))
    options = [option for option in command.params if isinstance(option, click.Option) and option.opts]
    for option in chance.sample(options, min(len(options), chance.randint(0, 4))):
        if option.name in ("force", "accept"):
            continue
        said.append(chance.choice([word for word in option.opts if word.startswith("-")]))
        if not option.is_flag:
            said.append(_value(chance, option, inputs))
    for word, value in (("--renderer", "rays"), ("--workers", "1"), ("--cell-width", "320")):  # the cheapest
        if any(word in option.opts for option in options) and word not in said:
            said += [word, value]
    files = _picked("yard.study.toml", "yard.toml", "drawn.png", "drawn.json", "tree.glb")
    # What is named once as an output, and what `choose` keeps a decision in.
    written = {name for name in ("drawn.png", "drawn.json") if said.count(name) == 1}
    written |= {"yard.study.toml"} if said[0] == "choose" else set()
    return Case(files, tuple(said), "words", frozenset(written))


VALUES = [
    "1",
    "0",
    "-1",
    "nan",
    "1e9",
    "",
    " ",
    "*",
    "x",
    "new.png",
    "new.json",
    "new.csv",
    "new.svg",
    "A1",
    "B9",
    "1-A1",
    "focal_mm=24,50",
    "focal_mm=",
    "pitch_deg=10:30:10",
    "pitch_deg=30:10:0",
    "hfov_deg=1:179:30",
    "place=*",
    "camera.focal_mm=35",
    "subject.at=[0,0,0]",
    "subject.at=floor",
    "title=''",
    "crate",
    "hop",
    "targets.*.seen",
    "gaps.hop.verdict",
    "targets.*.seen=0.1",
    "targets",
    "all",
    "none",
    "list",
    "perspective",
    "sensor_mm=1",
    "3",
    "16:9",
    "名",
    "=1",
    "a=b=c",
    "--",
    "-o",
    "x" * 300,
    "new/deep.png",
    "320",
    "4096",
    "sweep.rows={}",
    "gap=[]",
    "mesh.up=z",
    "own",
    "clay",
    "worst",
    "hero",
]


def _value(chance: Random, option: object, inputs: list[str]) -> str:
    import click

    kind = getattr(option, "type", None)
    if isinstance(kind, click.Choice) and chance.randrange(3):
        return str(chance.choice(list(kind.choices)))
    value = chance.choice(chance.choice([VALUES, VALUES, inputs]))
    if chance.randrange(12) == 0:
        return str(chance.choice(ODD_INTS))
    return value


KINDS: dict[str, Callable[[Random], Case]] = {
    kind.__name__: kind for kind in (study, scene, mesh, picture, record, port, review, words)
}
