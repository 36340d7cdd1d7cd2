"""The same bytes again: twice, from another folder, with more workers, and from the sheet itself."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from cli_calls import SMALL, STUDY, done, listing, process, refused, yard
from stationpoint.output.png import png_bytes, read_png_texts

PAGES = ("--pages", "pitch_deg=10,30")


def made(folder: Path) -> dict[str, bytes]:
    return {name: data for name, data in listing(folder).items() if not name.endswith(".toml")}


@pytest.fixture
def drawn(tmp_path: Path) -> dict[str, bytes]:
    yard(tmp_path / "a")
    done("sheet", "yard.study.toml", *SMALL, *PAGES, cwd=tmp_path / "a")
    files = made(tmp_path / "a")
    assert len(files) == 5
    return files


def test_same_study_gives_the_same_bytes_twice(drawn: dict[str, bytes], tmp_path: Path) -> None:
    done("sheet", "yard.study.toml", *SMALL, *PAGES, cwd=tmp_path / "a")
    assert made(tmp_path / "a") == drawn


def test_study_named_from_another_folder_gives_the_same_bytes(
    drawn: dict[str, bytes], tmp_path: Path
) -> None:
    for name, study in (("b", Path("../a/yard.study.toml")), ("c", tmp_path / "a" / "yard.study.toml")):
        (tmp_path / name).mkdir()
        done("sheet", study, *SMALL, *PAGES, cwd=tmp_path / name)
        assert made(tmp_path / name) == drawn


def test_study_that_was_copied_gives_the_same_bytes(drawn: dict[str, bytes], tmp_path: Path) -> None:
    yard(tmp_path / "elsewhere" / "deep")
    done("sheet", "yard.study.toml", *SMALL, *PAGES, cwd=tmp_path / "elsewhere" / "deep")
    assert made(tmp_path / "elsewhere" / "deep") == drawn


def test_two_workers_in_a_process_of_its_own_give_the_same_bytes(
    drawn: dict[str, bytes], tmp_path: Path
) -> None:
    yard(tmp_path / "w")
    ended = process("sheet", "yard.study.toml", *SMALL, *PAGES, "--workers", "2", cwd=tmp_path / "w")
    assert ended.code == 0, ended.err
    assert made(tmp_path / "w") == drawn


def test_scene_file_alone_gives_the_same_bytes_from_another_folder(tmp_path: Path) -> None:
    yard(tmp_path / "a")
    (tmp_path / "b").mkdir()
    done("sheet", "yard.toml", *SMALL, cwd=tmp_path / "a")
    done("sheet", "../a/yard.toml", *SMALL, cwd=tmp_path / "b")
    assert made(tmp_path / "a") == made(tmp_path / "b")


@pytest.mark.parametrize("number", [1, 2])
def test_page_is_drawn_again_to_the_byte(number: int, drawn: dict[str, bytes], tmp_path: Path) -> None:
    page = f"yard-{number}.png"
    done("inspect", page, "--redraw", "again.png", "--quiet", cwd=tmp_path / "a")
    assert (tmp_path / "a" / "again.png").read_bytes() == drawn[page]


@pytest.mark.parametrize(
    "words",
    [
        ("--variant", "A2"),
        ("--variant", "A2", "--variant", "A1", "--mode", "depth"),
        ("--marks", "targets,size", "--no-grid"),
        ("--set", "camera.offset=[0.1,0.05]", "--set", "camera.offset_by=shift", "--hold", "subject-height"),
        ("--rows", "projection=perspective,oblique", "--mode", "silhouette"),
    ],
    ids=["close-up", "two", "marks", "set", "oblique"],
)
def test_every_way_to_draw_is_drawn_again_to_the_byte(words: tuple[str, ...], tmp_path: Path) -> None:
    yard(tmp_path)
    (tmp_path / "out").mkdir()
    done("sheet", "yard.study.toml", *SMALL, *words, "-o", "out/x.png", "--alone", cwd=tmp_path)
    done("inspect", "out/x.png", "--redraw", "y.png", cwd=tmp_path)
    assert (tmp_path / "y.png").read_bytes() == (tmp_path / "out" / "x.png").read_bytes()


def test_sheet_of_a_scene_alone_is_drawn_again_to_the_byte(tmp_path: Path) -> None:
    yard(tmp_path / "level")
    done("sheet", "level/yard.toml", *SMALL, "--alone", cwd=tmp_path)
    done("inspect", "yard.png", "--redraw", "y.png", "--folder", "level", cwd=tmp_path)
    assert (tmp_path / "y.png").read_bytes() == (tmp_path / "yard.png").read_bytes()


def test_sheet_with_a_file_camera_is_drawn_again_to_the_byte(tmp_path: Path) -> None:
    yard(tmp_path)
    done("mesh", "yard.study.toml", "-o", "level.glb", cwd=tmp_path)
    text = STUDY.partition("[camera]")[0].replace("yard.toml", str(tmp_path / "level.glb"))
    text += f'[camera]\nfrom = "{tmp_path}/level.glb#study camera"\nanchor_height_m = 0.9\n'
    yard(tmp_path, text + "[sweep]\ncolumns = { focal_mm = [20, 40] }\n")
    done("sheet", "yard.study.toml", *SMALL, "--alone", cwd=tmp_path)
    done("inspect", "yard.png", "--redraw", "y.png", cwd=tmp_path)
    assert (tmp_path / "y.png").read_bytes() == (tmp_path / "yard.png").read_bytes()
    assert str(tmp_path) not in json.dumps(read_png_texts(tmp_path / "y.png"))


def test_inspect_tells_what_a_sheet_was_made_from(drawn: dict[str, bytes], tmp_path: Path) -> None:
    said = done("inspect", "yard-2.png", cwd=tmp_path / "a").text
    assert said.splitlines()[0] == "Does the crate show?"
    assert "renderer rays, mode marks, page 2" in said
    assert "Scene yard.toml; 4 variants, 4 rows." in said
    record = done("inspect", "yard-2.png", "--json", "-", cwd=tmp_path / "a")
    assert record.out == drawn["yard.json"]
    done("inspect", "yard-2.png", "--study", "again.toml", cwd=tmp_path / "a")
    (tmp_path / "a" / "again.study.toml").write_bytes((tmp_path / "a" / "again.toml").read_bytes())
    (tmp_path / "a" / "again.toml").unlink()
    done("sheet", "again.study.toml", *SMALL, "-o", "again.png", cwd=tmp_path / "a")
    assert (tmp_path / "a" / "again-2.png").read_bytes() == drawn["yard-2.png"]


def test_changed_scene_is_told_when_a_sheet_is_drawn_again(drawn: dict[str, bytes], tmp_path: Path) -> None:
    scene = (tmp_path / "a" / "yard.toml").read_text("utf-8")
    yard(tmp_path / "a", scene=scene.replace("at = [2, 0, -2]", "at = [2, 0, -2.5]"))
    result = done("inspect", "yard-1.png", "--redraw", "y.png", cwd=tmp_path / "a")
    assert "yard.toml has changed since the sheet was drawn" in result.err
    assert (tmp_path / "a" / "y.png").read_bytes() != drawn["yard-1.png"]


def test_sheets_that_say_nothing_or_lie_are_refused(tmp_path: Path) -> None:
    import numpy as np

    yard(tmp_path)
    done("sheet", "yard.study.toml", *SMALL, "--alone", cwd=tmp_path)
    texts = read_png_texts(tmp_path / "yard.png")
    pixels = np.zeros((4, 4, 3), dtype=np.uint8)
    assert len(texts) == 3
    (tmp_path / "bare.png").write_bytes(png_bytes(pixels, {}))
    assert "carries no stationpoint record" in refused("inspect", "bare.png", cwd=tmp_path)
    lies = ['{"page": 0}', "[]", "}", texts["stationpoint drawing"].replace('"page": 0', '"page": 7')]
    for drawing in lies:
        (tmp_path / "lie.png").write_bytes(png_bytes(pixels, {**texts, "stationpoint drawing": drawing}))
        message = refused("inspect", "lie.png", "--redraw", "y.png", cwd=tmp_path)
        assert "does not say how it was drawn" in message
    (tmp_path / "cut.png").write_bytes((tmp_path / "yard.png").read_bytes()[:600])
    assert "damaged" in refused("inspect", "cut.png", cwd=tmp_path)
    (tmp_path / "yard.toml").unlink()
    message = refused("inspect", "yard.png", "--redraw", "y.png", cwd=tmp_path)
    assert 'scene "yard.toml" was not found; name its folder with --folder' in message
