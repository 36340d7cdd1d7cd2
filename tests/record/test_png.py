"""PNG against Pillow's reader, and files that lie."""

from __future__ import annotations

import io
import struct
import zlib

import numpy as np
import pytest
from PIL import Image

from stationpoint.base.errors import StudyWrong
from stationpoint.record import png
from stationpoint.record.png import (
    joined_adler32,
    pack_rows,
    png_bytes,
    png_file,
    read_png_texts,
    row_bands,
)

TEXTS = {"stationpoint record": '{"é": "−3 × 4"}\n' * 50, "stationpoint study": ""}


def pictures(height, width):
    """A noise, a gradient and a flat picture: each filter is the best one somewhere."""
    generator = np.random.default_rng(3)
    yield generator.integers(0, 256, (height, width, 3), dtype=np.uint8)
    y, x = np.mgrid[:height, :width]
    yield np.stack([x // 3, y // 2, x + y], axis=-1).astype(np.uint8)
    yield np.full((height, width, 3), 145, dtype=np.uint8)


@pytest.mark.parametrize(
    "size", [(1, 1), (1, 2), (2, 1), (3, 5), (1, 16384), (16384, 1), (257, 255), (700, 900)]
)
def test_every_pixel_comes_back_at_odd_sizes(size):
    for pixels in pictures(*size):
        with Image.open(io.BytesIO(png_bytes(pixels, TEXTS))) as image:
            assert image.size == (size[1], size[0])
            assert image.mode == "RGB"
            assert np.array_equal(np.asarray(image), pixels)


@pytest.mark.parametrize("kind", [png.NO_FILTER, png.UP])
def test_every_filter_over_several_blocks_is_undone_by_a_reader(kind, monkeypatch):
    monkeypatch.setattr(png, "BLOCK_BYTES", 2000)
    monkeypatch.setattr(png, "_best_filter", lambda rows, start, stop: kind)
    for pixels in pictures(90, 70):
        data = png_bytes(pixels, {})
        assert data.count(b"IDAT") == 10
        assert np.array_equal(np.asarray(Image.open(io.BytesIO(data))), pixels)


@pytest.mark.parametrize("count", [1, 2, 3, 7, 100])
def test_bands_packed_apart_are_the_same_bytes(count, monkeypatch):
    monkeypatch.setattr(png, "BLOCK_BYTES", 30_000)
    for pixels in pictures(203, 100):
        height, width = pixels.shape[:2]
        parts = row_bands((width, height), count)
        assert [row for rows in parts for row in rows] == list(range(height))
        assert len(parts) == min(count, -(-height // (30_000 // (3 * width))))
        blocks = [
            block
            for rows in parts
            for block in pack_rows(pixels[max(0, rows.start - 1) : rows.stop], rows, height)
        ]
        assert png_file((width, height), blocks, TEXTS) == png_bytes(pixels, TEXTS)


def test_pictures_from_pillow_are_taken_as_arrays():
    image = Image.new("RGB", (5, 4), (1, 2, 3))
    assert Image.open(io.BytesIO(png_bytes(np.asarray(image), {}))).getpixel((4, 3)) == (1, 2, 3)


@pytest.mark.parametrize("shape", [(4, 4), (4, 4, 5), (0, 4, 3)])
def test_what_is_no_rgb_picture_is_refused(shape):
    with pytest.raises(ValueError, match="RGB"):
        png_bytes(np.zeros(shape, dtype=np.uint8), {})


def test_checksums_join_like_one_over_all():
    assert joined_adler32(zlib.adler32(b"Wiki"), zlib.adler32(b"pedia"), 5) == 0x11E60398
    a, b = b"\xff" * 70000, bytes(range(256)) * 300
    assert joined_adler32(zlib.adler32(a), zlib.adler32(b), len(b)) == zlib.adler32(a + b)


def test_gradient_is_packed_better_than_without_a_filter():
    _, pixels, _ = pictures(400, 600)
    bare = len(zlib.compress(pixels.tobytes(), 6))
    assert len(png_bytes(pixels, {})) < bare / 2


def test_pictures_are_packed_alike_whatever_zlib_python_was_built_with(monkeypatch):
    for name in ("compress", "compressobj", "adler32", "crc32"):
        monkeypatch.setattr(zlib, name, lambda *given: pytest.fail("Python's own zlib packs a picture"))
    assert png_bytes(np.full((4, 4, 3), 7, dtype=np.uint8), {"another text": "words"})


def test_chunks_are_in_order_and_carry_no_time_or_size_of_a_dot():
    data, kinds, at = png_bytes(np.zeros((4, 4, 3), dtype=np.uint8), TEXTS), [], 8
    while at < len(data):
        length, kind = struct.unpack(">I4s", data[at : at + 8])
        kinds.append(kind)
        at += length + 12
    assert kinds == [b"IHDR", b"sRGB", b"gAMA", b"iTXt", b"iTXt", b"IDAT", b"IEND"]


def test_texts_come_back_here_and_in_pillow(tmp_path):
    (tmp_path / "a.png").write_bytes(png_bytes(np.zeros((4, 4, 3), dtype=np.uint8), TEXTS))
    assert read_png_texts(tmp_path / "a.png", TEXTS) == TEXTS
    with Image.open(tmp_path / "a.png") as image:
        image.load()
        assert dict(image.text) == TEXTS


def test_texts_written_by_pillow_are_read(tmp_path):
    from PIL.PngImagePlugin import PngInfo

    info = PngInfo()
    info.add_itxt("plain", "é\n" * 10, lang="en", tkey="einfach")
    info.add_itxt("packed", "−" * 1000, zip=True)
    info.add_text("other", "not read")
    Image.new("RGB", (2, 2)).save(tmp_path / "a.png", pnginfo=info)
    assert read_png_texts(tmp_path / "a.png") == {"plain": "é\n" * 10, "packed": "−" * 1000}


def test_picture_without_our_texts_is_told(tmp_path):
    Image.new("RGB", (2, 2)).save(tmp_path / "a.png")
    assert read_png_texts(tmp_path / "a.png") == {}
    with pytest.raises(StudyWrong, match="carries no stationpoint record"):
        read_png_texts(tmp_path / "a.png", [png.RECORD_KEYWORD])


def chunk(kind, data, check=None):
    crc = zlib.crc32(kind + data) if check is None else check
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", crc)


WHOLE = png_bytes(np.zeros((4, 4, 3), dtype=np.uint8), TEXTS)
END = chunk(b"IEND", b"")


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "not a PNG"),
        (b"GIF89a" + b"\0" * 50, "not a PNG"),
        (png.SIGNATURE, "damaged"),
        (WHOLE[:60], "damaged"),
        (WHOLE[:-12], "damaged"),
        (WHOLE.replace(b"iTXt", b"iTXu", 1), "damaged"),  # one wrong bit hides a text
        (png.SIGNATURE + b"\xff\xff\xff\xff" + WHOLE[12:], "damaged"),
        (png.SIGNATURE + struct.pack(">I4s", 0x7FFFFFFF, b"iTXt") + b"x" * 20, "damaged"),
        (png.SIGNATURE + chunk(b"iTXt", b"k\0\0\0\0\0x", check=1) + END, "damaged"),
        (png.SIGNATURE + END, "damaged"),
        (WHOLE[: 8 + 25] + END, "damaged"),  # no picture
    ],
)
def test_file_that_lies_is_one_sentence(tmp_path, data, words):
    (tmp_path / "a.png").write_bytes(data)
    with pytest.raises(StudyWrong, match=words) as caught:
        read_png_texts(tmp_path / "a.png")
    assert "\n" not in str(caught.value)


RECORD = png.RECORD_KEYWORD.encode()
BARE = png_bytes(np.zeros((4, 4, 3), dtype=np.uint8), {})


@pytest.mark.parametrize(
    "text",
    [
        b"no zero at all",
        RECORD + b"\0\1\0\0\0not zlib",
        RECORD + b"\0\1\1\0\0",
        RECORD + b"\0\0\0\0",
        RECORD + b"\0\0\0\0\0\xff\xfe",
    ],
)
def test_text_that_cannot_be_unpacked_is_one_sentence(tmp_path, text):
    (tmp_path / "a.png").write_bytes(BARE[:33] + chunk(b"iTXt", text) + BARE[33:])
    with pytest.raises(StudyWrong, match="carries no stationpoint record that can be read"):
        read_png_texts(tmp_path / "a.png", [png.RECORD_KEYWORD])


def test_text_larger_than_pillow_takes_by_itself_is_read(tmp_path):
    long = "a row of a record\n" * 400_000  # 7 MB; Pillow's own limit is 1 MiB
    (tmp_path / "a.png").write_bytes(png_bytes(np.zeros((4, 4, 3), dtype=np.uint8), {"long": long}))
    assert read_png_texts(tmp_path / "a.png") == {"long": long}
    with pytest.raises(ValueError, match="MAX_TEXT_CHUNK"):
        Image.open(tmp_path / "a.png")  # its limits are as they were


def test_text_that_swells_is_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(png, "LARGEST_TEXT", 1 << 20)
    bomb = chunk(b"iTXt", b"k\0\1\0\0\0" + zlib.compress(b"\0" * (8 << 20)))
    (tmp_path / "a.png").write_bytes(BARE[:33] + bomb + BARE[33:])
    with pytest.raises(StudyWrong, match="more than 1 MiB"):
        read_png_texts(tmp_path / "a.png")


def test_missing_file_and_folder_are_told(tmp_path):
    with pytest.raises(StudyWrong, match="does not exist"):
        read_png_texts(tmp_path / "none.png")
    with pytest.raises(StudyWrong, match="is a folder"):
        read_png_texts(tmp_path)
