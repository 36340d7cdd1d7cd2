"""The few things that the lean passes need of OpenGL: programs, meshes.

Import it behind context.current_context() only.
"""

from __future__ import annotations

import ctypes
from collections.abc import Callable, Sequence
from functools import cache
from importlib.resources import files

import numpy as np
from numpy.typing import NDArray

from stationpoint.base.colour import linear_light
from stationpoint.camera import PartPx
from stationpoint.render.gl import names as gl
from stationpoint.render.own import JITTER
from stationpoint.render.soft import filled
from stationpoint.render.surface import Surface
from stationpoint.render.tiles import reached

VERTEX = np.dtype([("position", "f4", 3), ("normal", "i2", 4), ("paint", "u1", 4), ("id", "u4")])
OWN_VERTEX = np.dtype([("place", "f4", 2), ("tint", "u2", 4), ("rule", "f4", 4)])
TEXTURE_UNIT = 6  # of what lies on a mesh
MOST_PAINTS = 128
GRIDDED, THIN, GROUND, ROUND, FILLED = 1, 2, 4, 8, 16  # flags of a paint; ROUND of a vertex
# Triangles of one node that are drawn, or left out, together. Few: each time that Mesa's software driver has
# clipped some of a run it goes through all of the run's vertices again.
BLOCK = 64
AT_ONCE = 8192  # triangles made ready, which stay near the processor
Runs = tuple[NDArray[np.int32], NDArray[np.int32], NDArray[np.bool_]]  # firsts, counts, whether they are flat


def version() -> tuple[int, int]:
    """The context's OpenGL version, such as (4, 5)."""
    numbers = (ctypes.c_int * 2)()
    for k, name in enumerate((gl.GL_MAJOR_VERSION, gl.GL_MINOR_VERSION)):
        gl.glGetIntegerv(name, ctypes.byref(numbers, 4 * k))
    return numbers[0], numbers[1]


def create_one(create: Callable[..., None], *before: int) -> int:
    """The name of one new object of a glCreate... function."""
    name = ctypes.c_uint(0)
    create(*before, 1, ctypes.byref(name))
    return name.value


class Program:
    """A linked shader program and its uniforms by name."""

    def __init__(self, vertex: str, fragment: str, *defines: str) -> None:
        self.name = gl.glCreateProgram()
        for kind, file in ((gl.GL_VERTEX_SHADER, vertex), (gl.GL_FRAGMENT_SHADER, fragment)):
            shader = _compiled(kind, file, defines)
            gl.glAttachShader(self.name, shader)
            gl.glDeleteShader(shader)
        gl.glLinkProgram(self.name)
        _must_be_good(self.name, gl.GL_LINK_STATUS, gl.glGetProgramiv, gl.glGetProgramInfoLog, vertex)
        self._places: dict[str, int] = {}
        self._given: dict[str, bytes] = {}

    def use(self) -> None:
        gl.glUseProgram(self.name)

    def delete(self) -> None:
        gl.glDeleteProgram(self.name)

    def _place(self, uniform: str) -> int:
        if uniform not in self._places:
            self._places[uniform] = gl.glGetUniformLocation(self.name, uniform.encode())
        return self._places[uniform]

    def _is_new(self, uniform: str, value: bytes) -> bool:
        """Whether a uniform has another value yet: most keep theirs from shot to shot, and calls are dear."""
        if self._given.get(uniform) == value:
            return False
        self._given[uniform] = value
        return True

    def matrix(self, uniform: str, value: NDArray[np.float64]) -> None:
        """A (4, 4) matrix for column vectors."""
        m = np.ascontiguousarray(value, dtype=np.float32)
        if self._is_new(uniform, m.tobytes()):
            gl.glProgramUniformMatrix4fv(self.name, self._place(uniform), 1, True, m)

    def vectors(self, uniform: str, value: NDArray[np.float64]) -> None:
        """One vector (n,) or several (m, n), n from 1 to 4."""
        v = np.ascontiguousarray(value, dtype=np.float32)
        if self._is_new(uniform, v.tobytes()):
            n = v.shape[-1]
            call = getattr(gl, f"glProgramUniform{n}fv")
            call(self.name, self._place(uniform), v.size // n, v)

    def words(self, uniform: str, value: NDArray[np.uint32]) -> None:
        """An array (n,) of words."""
        if self._is_new(uniform, value.tobytes()):
            gl.glProgramUniform1uiv(self.name, self._place(uniform), len(value), value)

    def real(self, uniform: str, value: float) -> None:
        self.vectors(uniform, np.array([value]))

    def whole(self, uniform: str, value: int) -> None:
        if self._is_new(uniform, b"%d" % value):
            gl.glProgramUniform1i(self.name, self._place(uniform), value)


def _compiled(kind: int, file: str, defines: Sequence[str]) -> int:
    head, _, body = _text(file).partition("\n")
    shared = ["surface.glsl"] * file.startswith("surface.")
    if {"CUT", "OWN"} & set(defines):
        shared.append("own.vert" if kind == gl.GL_VERTEX_SHADER else "own.frag")
        words = [f"JITTER_{a}{b} {JITTER[j][k]}u" for j, a in enumerate("XY") for k, b in enumerate("XY")]
        defines = [*defines, "HAND_ON", *words]
    body = "".join([*(_text(name) for name in shared), body])
    source = "\n".join([head, *(f"#define {word}" for word in defines), body]).encode()
    shader: int = gl.glCreateShader(kind)
    lines = (ctypes.c_char_p * 1)(source)
    gl.glShaderSource(shader, 1, ctypes.cast(lines, ctypes.POINTER(ctypes.POINTER(ctypes.c_char))), None)
    gl.glCompileShader(shader)
    _must_be_good(shader, gl.GL_COMPILE_STATUS, gl.glGetShaderiv, gl.glGetShaderInfoLog, file)
    return shader


def _text(file: str) -> str:
    return files("stationpoint.render").joinpath("shaders", file).read_text("utf-8")


def _must_be_good(
    name: int, status: int, ask: Callable[..., None], log: Callable[..., None], file: str
) -> None:
    good = ctypes.c_int(0)
    ask(name, status, ctypes.byref(good))
    if not good.value:
        text = ctypes.create_string_buffer(4096)
        log(name, 4096, None, text)
        raise RuntimeError(f"{file}: {text.value.decode(errors='replace')}")


class Palette:
    """The paints in use, told by number from 1 on: a tint, as the root of its linear light in 8 bits a
    channel, and flags. A picture's samples then hold a number in place of a paint."""

    def __init__(self) -> None:
        self._numbers: dict[int, int] = {}
        self.words = np.zeros(MOST_PAINTS, dtype=np.uint32)

    def numbers(self, tints: NDArray[np.uint8], flags: NDArray[np.uint8]) -> NDArray[np.uint8]:
        """The paints of nodes with tints (n, 3), sRGB, and flags (n,). ValueError where they are too many."""
        roots = np.rint(np.sqrt(linear_light(tints)) * 255.0).astype(np.uint32)
        words = roots[:, 0] | roots[:, 1] << 8 | roots[:, 2] << 16 | flags.astype(np.uint32) << 24
        used, which = np.unique(words, return_inverse=True)
        return np.array([self._number(int(word)) for word in used], dtype=np.uint8)[which]

    def _number(self, word: int) -> int:
        if word not in self._numbers:
            number = len(self._numbers) + 1
            if number >= MOST_PAINTS:
                raise ValueError(f"{MOST_PAINTS} kinds of paint in one scene; at most {MOST_PAINTS - 1}")
            self._numbers[word] = number
            self.words[number] = word
        return self._numbers[word]


class Mesh:
    """A Surface on the card: one buffer, drawn by runs of triangles.

    texture: the one on all of it, 0 where its own colours are not needed. sheer: whether sight may pass
    through any of it.
    """

    def __init__(self, surface: Surface, palette: Palette, texture: int = 0, sheer: bool = False) -> None:
        self.texture, self.sheer = texture, sheer
        thin = ~(surface.sealed | surface.ground)
        flags = surface.gridded * GRIDDED + thin * THIN + surface.ground * GROUND + filled(surface) * FILLED
        flags = flags.astype(np.uint8)
        numbers = palette.numbers(surface.tints, flags)
        vertices = np.zeros((len(surface.corners), 3), dtype=VERTEX)
        flat = np.zeros(len(vertices), dtype=bool)
        for start in range(0, len(vertices), AT_ONCE):
            some = slice(start, start + AT_ONCE)
            here, node = vertices[some], surface.node[some]
            normals = np.zeros((len(here), 3, 4), dtype=np.int16)
            normals[:, :, :3] = np.rint(surface.normals[some] * 32767.0)
            a, b, c = normals.view(np.int64)[:, :, 0].T
            flat[some] = (a == b) & (a == c)
            here["position"], here["normal"] = surface.corners[some], normals
            here["paint"][:, :, 0] = numbers[node][:, None]
            here["paint"][:, :, 1] = (flags[node] | surface.round[some] * np.uint8(ROUND))[:, None]
            here["id"] = surface.ids[node][:, None]
        self._blocks(surface, flat)
        self._buffer = create_one(gl.glCreateBuffers)
        self._array = create_one(gl.glCreateVertexArrays)
        raw = vertices.view(np.uint8) if len(vertices) else np.zeros(VERTEX.itemsize, dtype=np.uint8)
        gl.glNamedBufferData(self._buffer, raw.nbytes, raw, gl.GL_STATIC_DRAW)
        gl.glVertexArrayVertexBuffer(self._array, 0, self._buffer, 0, VERTEX.itemsize)
        for place, (name, count, kind, unit) in enumerate(
            (
                ("position", 3, gl.GL_FLOAT, False),
                ("normal", 3, gl.GL_SHORT, True),
                ("paint", 4, gl.GL_UNSIGNED_BYTE, None),
                ("id", 1, gl.GL_UNSIGNED_INT, None),
            )
        ):
            offset = VERTEX.fields[name][1] if VERTEX.fields else 0
            gl.glEnableVertexArrayAttrib(self._array, place)
            gl.glVertexArrayAttribBinding(self._array, place, 0)
            if unit is None:
                gl.glVertexArrayAttribIFormat(self._array, place, count, kind, offset)
            else:
                gl.glVertexArrayAttribFormat(self._array, place, count, kind, unit, offset)

        self._own_buffer = self._own(surface) if texture else 0

    def _own(self, surface: Surface) -> int:
        """A second buffer, with the own colours."""
        own = surface.own
        assert own is not None
        vertices = np.zeros(3 * len(surface.corners), dtype=OWN_VERTEX)
        vertices["place"] = own.uv.reshape(-1, 2)
        vertices["tint"] = own.tints.reshape(-1, 4)
        triangle = np.arange(len(own.material), dtype=np.int32)
        lit = np.where(own.unlit(triangle), 2, own.has(triangle))
        rule = np.stack([own.hides_from(triangle), own.shown, own.blends(triangle), lit], axis=1)
        vertices["rule"] = np.repeat(rule, 3, axis=0)
        buffer = create_one(gl.glCreateBuffers)
        raw = vertices.view(np.uint8)
        gl.glNamedBufferData(buffer, raw.nbytes, raw, gl.GL_STATIC_DRAW)
        gl.glVertexArrayVertexBuffer(self._array, 1, buffer, 0, OWN_VERTEX.itemsize)
        kinds = (("place", 2, gl.GL_FLOAT, False), ("tint", 4, gl.GL_UNSIGNED_SHORT, True))
        for k, (name, count, kind, unit) in enumerate((*kinds, ("rule", 4, gl.GL_FLOAT, False))):
            offset = OWN_VERTEX.fields[name][1] if OWN_VERTEX.fields else 0
            gl.glEnableVertexArrayAttrib(self._array, 4 + k)
            gl.glVertexArrayAttribBinding(self._array, 4 + k, 1)
            gl.glVertexArrayAttribFormat(self._array, 4 + k, count, kind, unit, offset)
        return buffer

    def _blocks(self, surface: Surface, flat: NDArray[np.bool_]) -> None:
        """Blocks of triangles as they come, which a mesh's makers mostly left neighbours together: so each
        pixel's triangles keep their order, and which of two in one place is seen. flat: (m,) whether a
        triangle's normals are one, as they lie on the card."""
        per_node = -(-np.diff(surface.starts) // BLOCK)
        self._node = np.repeat(np.arange(len(per_node)), per_node)
        within = np.arange(len(self._node)) - np.repeat(np.cumsum(per_node) - per_node, per_node)
        firsts = surface.starts[self._node] + BLOCK * within
        self._firsts = (3 * firsts).astype(np.int32)
        self._counts = np.diff(self._firsts, append=3 * len(surface.corners)).astype(np.int32)
        # Axis by axis, as what goes through all of them for each view does.
        low, high = np.empty((2, 3, len(firsts)))
        for axis, (a, b, c) in enumerate(surface.corners.transpose(2, 1, 0) if len(firsts) else ()):
            low[axis] = np.minimum.reduceat(np.minimum(np.minimum(a, b), c), firsts)
            high[axis] = np.maximum.reduceat(np.maximum(np.maximum(a, b), c), firsts)
        self._low, self._high = low.T, high.T
        self._flat = np.logical_and.reduceat(flat, firsts) if len(firsts) else flat

    def reached(self, to_clip: NDArray[np.float64]) -> NDArray[np.bool_]:
        """Blocks that may reach into a view, (n,). to_clip: (4, 4), as of tiles.reached."""
        return reached(to_clip, self._low, self._high)

    def runs(self, drawn: NDArray[np.bool_], blocks: NDArray[np.bool_] | None = None) -> Runs:
        """Runs of vertices of the drawn nodes, of some of the blocks or of all; flat are those of one normal
        a triangle. drawn: (nodes,)."""
        is_asked = drawn[self._node]
        if blocks is not None:
            is_asked &= blocks
        return self._firsts[is_asked], self._counts[is_asked], self._flat[is_asked]

    def draw(self, runs: Runs, without: int) -> None:
        """Draw runs with the current program, without one side of the faces (GL_NONE: both drawn)."""
        gl.glBindVertexArray(self._array)
        if self.texture:
            gl.glBindTextureUnit(TEXTURE_UNIT, self.texture)
        if without == gl.GL_NONE:
            gl.glDisable(gl.GL_CULL_FACE)
        else:
            gl.glEnable(gl.GL_CULL_FACE)
            gl.glCullFace(without)
        firsts, counts, _ = runs
        gl.glMultiDrawArrays(gl.GL_TRIANGLES, firsts, counts, len(firsts))

    def delete(self) -> None:
        gl.glDeleteVertexArrays(1, ctypes.byref(ctypes.c_uint(self._array)))
        for buffer in (self._buffer, self._own_buffer):
            gl.glDeleteBuffers(1, ctypes.byref(ctypes.c_uint(buffer)))  # 0 is none, and left alone


class Programs:
    """A program for what is solid, and its likes for what lets sight through and, where there is one of its
    own for it, for what is flat; each compiled once it is needed."""

    def __init__(
        self, vertex: str, fragment: str, *defines: str, cut: tuple[str, ...] = ("CUT",), flat: bool = False
    ) -> None:
        """flat: whether FLAT defines a program for solid runs that are flat."""
        self._files, self._has_flat = (vertex, fragment), flat
        self._defines = {"": defines, "flat": (*defines, "FLAT"), "sheer": (*defines, *cut)}
        self._programs: dict[str, Program] = {}
        self._of("flat" if flat else "")

    def _of(self, kind: str) -> Program:
        if kind not in self._programs:
            defines = self._defines[kind]
            self._programs[kind] = program = Program(*self._files, *defines)
            if {"CUT", "OWN"} & set(defines):
                program.whole("picture", TEXTURE_UNIT)
        return self._programs[kind]

    def draw(self, drawing: Sequence[tuple[Mesh, Runs, int]], set_up: Callable[[Program], None]) -> None:
        """Draw runs of meshes, what is solid first. set_up: gives a program its uniforms."""
        solid = [each for each in drawing if not each[0].sheer]
        flat = _some(solid, flat=True) if self._has_flat else []
        rest = _some(solid, flat=False) if self._has_flat else solid
        sheer = [each for each in drawing if each[0].sheer]
        for kind, some in (("flat", flat), ("", rest), ("sheer", sheer)):
            if some:
                program = self._of(kind)
                program.use()
                set_up(program)
            for mesh, runs, without in some:
                mesh.draw(runs, without)

    def delete(self) -> None:
        for program in self._programs.values():
            program.delete()


def _some(drawing: Sequence[tuple[Mesh, Runs, int]], flat: bool) -> list[tuple[Mesh, Runs, int]]:
    """The runs that are flat, or those that are not."""
    some = []
    for mesh, (firsts, counts, are_flat), without in drawing:
        asked = are_flat == flat
        if asked.any():
            some.append((mesh, (firsts[asked], counts[asked], are_flat[asked]), without))
    return some


def camera_state() -> None:
    """Rows from the top, depth 1 at the near plane and 0 at the far one."""
    gl.glClipControl(gl.GL_UPPER_LEFT, gl.GL_ZERO_TO_ONE)
    gl.glEnable(gl.GL_DEPTH_TEST)
    gl.glDepthFunc(gl.GL_GREATER)


def draw_screen(parts: Sequence[PartPx]) -> None:
    """Draw one triangle that covers the canvas, half way in depth, with the current program; of each part of
    the canvas what lies in it."""
    gl.glBindVertexArray(_no_vertices())
    gl.glDisable(gl.GL_CULL_FACE)
    gl.glEnable(gl.GL_SCISSOR_TEST)
    for left, top, right, bottom in parts:
        gl.glScissor(left, top, right - left, bottom - top)
        gl.glDrawArrays(gl.GL_TRIANGLES, 0, 3)
    gl.glDisable(gl.GL_SCISSOR_TEST)


@cache
def _no_vertices() -> int:
    return create_one(gl.glCreateVertexArrays)
