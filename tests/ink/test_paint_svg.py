"""SVG: well-formed, alone, its words and pictures those of the page, its look that of the PNG."""

from __future__ import annotations

import io
import re
from base64 import b64decode
from collections.abc import Iterator
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from fontTools.ttLib import TTFont

from ink.page_of_all import (
    ARABIC,
    INK,
    MARKUP,
    PAPER,
    SCRIPTS,
    apart,
    as_image,
    browser_picture,
    packed,
    page_of_all,
)
from stationpoint.ink.paint_png import paint_rows
from stationpoint.ink.paint_svg import SVG, XLINK, svg_file, svg_tree
from stationpoint.ink.shapes import Group, Line, Page, Picture, Shape, Text
from stationpoint.ink.type import text_shape, use_type


@pytest.fixture(autouse=True)
def _usual_type() -> Iterator[None]:
    use_type((), SCRIPTS)
    yield
    use_type()


def written(page: Page, **kept: str) -> ElementTree.Element:
    return ElementTree.fromstring(svg_file(page, packed, "A title", "What it says", kept))


def flat(shapes: tuple[Shape, ...]) -> Iterator[Shape]:
    for shape in shapes:
        yield from flat(shape.shapes) if isinstance(shape, Group) else [shape]


@pytest.mark.parametrize("names", [SCRIPTS, MARKUP])
def test_every_text_of_the_page_is_found_in_order(names: tuple[str, ...]) -> None:
    page = page_of_all(names)
    texts = [shape.words for shape in flat(page.shapes) if isinstance(shape, Text)]
    assert len(texts) == 1 + 2 * len(names)
    assert [one.text for one in written(page).iter(f"{{{SVG}}}text")] == texts


def test_names_are_found_as_they_were_typed_by_a_search_in_the_file() -> None:
    whole = svg_file(page_of_all(), packed, "", "").decode()
    assert [whole.count(name) for name in SCRIPTS] == [2] * len(SCRIPTS)


def test_nothing_from_a_name_can_run_and_nothing_is_fetched() -> None:
    root = written(page_of_all(MARKUP), **{"a <b>": "<script>no</script>\r\n&amp;"})
    tags = {one.tag.rsplit("}", 1)[-1] for one in root.iter()}
    assert tags == {
        *("svg", "title", "desc", "metadata", "text", "style", "rect", "g", "path", "circle", "image"),
        *("clipPath", "polygon"),
    }
    values = [value for one in root.iter() for name, value in one.items() if not name.startswith("on")]
    assert len(values) == sum(len(one.items()) for one in root.iter())
    links = [one.get(f"{{{XLINK}}}href", "") for one in root.iter(f"{{{SVG}}}image")]
    assert len(links) == 2
    assert all(link.startswith("data:image/png;base64,") for link in links)
    style = root.findtext(f"{{{SVG}}}style") or ""
    assert re.findall(r"url\((.{10})", style) == ["data:font/"] * style.count("@font-face")
    assert all(re.fullmatch(r"url\(#[\w.-]+\)", value) for value in values if "url(" in value)


def test_what_is_kept_comes_back_to_the_letter() -> None:
    words = '{"a": "<&>\'"}\r\n\tb \U0001f383'
    (kept,) = (one for one in written(page_of_all(), record=words).iter() if one.get("name") == "record")
    assert kept.text == words


def test_a_page_has_a_title_a_description_and_its_size() -> None:
    root = written(page_of_all())
    assert [root.findtext(f"{{{SVG}}}{tag}") for tag in ("title", "desc")] == ["A title", "What it says"]
    assert root.get("role") == "img"
    assert root.get("viewBox") == f"0 0 {root.get('width')} {root.get('height')}" == "0 0 500 398"


def test_groups_are_classes_and_clipped_to_whole_pixels() -> None:
    root = written(page_of_all())
    groups = {one.get("class"): one for one in root.iter(f"{{{SVG}}}g")}
    assert list(groups) == ["marks", "mark gaps"]
    assert groups["marks"].get("clip-path") == "url(#clip_20_20_80_20_80_80_20_80)"  # 60 px from (20, 20)
    assert groups["marks"].find(f"{{{SVG}}}g") is groups["mark gaps"]


def test_pictures_are_the_pages_own_pixels() -> None:
    pictures = [shape for shape in page_of_all().shapes if isinstance(shape, Picture)]
    links = [one.get(f"{{{XLINK}}}href", "") for one in written(page_of_all()).iter(f"{{{SVG}}}image")]
    images = [as_image(b64decode(link.partition(",")[2])) for link in links]
    assert [image.mode for image in images] == ["RGB", "RGBA"]
    for picture, image in zip(pictures, images, strict=True):
        assert np.array_equal(np.asarray(image)[..., :3], picture.pixels)
    assert np.array_equal(np.asarray(images[1])[..., 3], pictures[1].mask)


def test_no_halo_of_a_line_lies_on_the_ink_of_another() -> None:
    paths = [
        one.get("stroke") for one in written(page_of_all()).find(f".//{{{SVG}}}g[@class='mark gaps']") or ()
    ]
    assert paths[:2] == ["#f5f3ed", "#121416"]  # both halos, then both inks


def test_fonts_hold_the_letters_of_the_page_and_are_small() -> None:
    style = written(Page((400, 60), PAPER, (text_shape((5, 40), "Tower " + ARABIC, 20),))).findtext(
        f"{{{SVG}}}style"
    )
    data = re.findall(r"base64,([^)]+)\)", style or "")
    fonts = [TTFont(io.BytesIO(b64decode(one))) for one in data]
    held = [set(font.getBestCmap()) for font in fonts]
    assert len(fonts) == 2
    assert held[0] == set(map(ord, "Tower "))
    assert held[1] >= set(map(ord, ARABIC)) - {32}
    assert sum(map(len, data)) < 40_000


def test_a_line_is_held_to_its_width() -> None:
    # Open Sans Regular's advances, of 2048: T 1133 o 1237, less the pair's 143 (hmtx, GPOS) = 2227
    (text,) = written(Page((90, 60), PAPER, (text_shape((5, 40), "To", 20),))).iter(f"{{{SVG}}}text")
    assert float(text.get("textLength", "")) == pytest.approx(20 * 2227 / 2048, abs=0.006)
    assert (text.get("x"), text.get("y")) == ("5", "40")


def test_the_same_page_gives_the_same_bytes() -> None:
    assert svg_file(page_of_all(), packed, "t", "d") == svg_file(page_of_all(), packed, "t", "d")


def test_a_dot_and_a_closed_line_are_paths() -> None:
    shapes = (Line(((5, 5),), 4.0, INK), Line(((1, 1), (9, 1), (9, 9)), 2.0, INK, closed=True))
    assert [one.get("d") for one in written(Page((20, 20), PAPER, shapes)).iter(f"{{{SVG}}}path")] == [
        "M5 5L5 5",
        "M1 1L9 1L9 9Z",
    ]


def test_a_browser_shows_what_the_png_shows(tmp_path: Path) -> None:
    page = page_of_all()
    shown = browser_picture(svg_file(page, packed, "t", "d"), page.size_px, tmp_path)
    mean, far = apart(shown, paint_rows(page))
    assert mean < 2.0  # letters lie on half pixels in the one, between them in the other
    assert far < 0.001
    one, other = shown[20:120, 20:450], paint_rows(page)[20:120, 20:450]  # without words
    assert apart(np.ascontiguousarray(one), np.ascontiguousarray(other))[1] < 0.001


def test_a_tree_has_the_elements_that_a_file_has() -> None:
    pixels = np.zeros((4, 6, 3), np.uint8)
    words = text_shape((4.0, 30.0), "a < b ", 14, "semibold")
    shapes = (Group("cell", (2.0, 3.0), (Picture((0, 0, 6, 4), pixels), words), (0.0, 0.0, 40.0, 40.0)),)
    tree = svg_tree(shapes, (50, 50), lambda found: "#7" if found is pixels else "")
    (clip, group) = tree.elements
    assert clip[0] == "clipPath"
    assert group[:2] == ["g", {"class": "cell", "clip-path": f"url(#{clip[1]['id']})"}]
    image, text = group[2]
    assert image == ["image", {"x": "2", "y": "3", "width": "6", "height": "4", "href": "#7"}, ""]
    assert (text[0], text[1]["xml:space"], text[2]) == ("text", "preserve", "a < b ")
    assert tree.words == [("a < b ", "semibold")]
