"""The same bytes again: twice, from another folder, with more workers, and from the sheet itself."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from cli_calls import SMALL, STUDY, done, environment, listing, process, refused, yard
from stationpoint.record.png import png_bytes, read_png_texts

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


def lying(folder: Path, name: str = "lie.png", **texts: str) -> dict[str, str]:
    """A sheet drawn in a folder and, under a name, one with other texts; the texts as they were drawn."""
    yard(folder)
    if not (folder / "yard.png").exists():
        done("sheet", "yard.study.toml", *SMALL, "--alone", cwd=folder)
    true = read_png_texts(folder / "yard.png")
    said = {**true, **{f"stationpoint {keyword}": words for keyword, words in texts.items()}}
    (folder / name).write_bytes(png_bytes(np.zeros((4, 4, 3), dtype=np.uint8), said))
    return true


@pytest.mark.parametrize(
    "width", ["Infinity", "-Infinity", "NaN", "1e999", "1e400", "[]", '"wide"', "9" * 400, "-5"]
)
def test_cell_width_that_is_no_width_is_refused(width: str, tmp_path: Path) -> None:
    drawing = lying(tmp_path)["stationpoint drawing"]
    assert '"cell_width": 320' in drawing
    lying(tmp_path, drawing=drawing.replace('"cell_width": 320', f'"cell_width": {width}'))
    for words in ((), ("--redraw", "y.png")):
        assert "does not say how it was drawn" in refused("inspect", "lie.png", *words, cwd=tmp_path)


@pytest.mark.parametrize("key", ["renderer", "rows", "variants", "tool"])
def test_record_that_lacks_what_every_record_has_is_refused(key: str, tmp_path: Path) -> None:
    record = json.loads(lying(tmp_path)["stationpoint record"])
    for wrong in ({k: v for k, v in record.items() if k != key}, {**record, key: 5}):
        lying(tmp_path, record=json.dumps(wrong))
        assert "is JSON but no record" in refused("inspect", "lie.png", cwd=tmp_path)
    lying(tmp_path, record=json.dumps({**record, "tool": {"name": "stationpoint", "version": 5}}))
    assert "is JSON but no record" in refused("inspect", "lie.png", cwd=tmp_path)


@pytest.mark.parametrize(
    "scene", ["../yard.toml", "a/../../yard.toml", "{0}/yard.toml", "..\\yard.toml", "C:yard.toml"]
)
def test_scene_outside_the_folder_is_not_read_on_a_sheets_word(scene: str, tmp_path: Path) -> None:
    inner = tmp_path / "inner"
    study = lying(inner)["stationpoint study"]
    (inner / "yard.toml").rename(tmp_path / "yard.toml")
    lying(inner, study=study.replace('"yard.toml"', json.dumps(scene.format(tmp_path))))
    (inner / "yard.toml").unlink()
    said = refused("inspect", "lie.png", "--redraw", "y.png", cwd=inner)
    assert "lies outside its folder; name the folder that holds it with --folder" in said
    done("inspect", "lie.png", "--redraw", "y.png", "--folder", "..", cwd=inner)  # a person's own word


@pytest.mark.parametrize("file", ["../level.glb", "{0}/level.glb"])
def test_camera_outside_the_folder_is_not_read_on_a_sheets_word(file: str, tmp_path: Path) -> None:
    inner = tmp_path / "inner"
    study = lying(inner)["stationpoint study"]
    done("mesh", "yard.study.toml", "-o", "../level.glb", cwd=inner)
    words = json.dumps(f"{file.format(tmp_path)}#study camera")
    lying(inner, study=study.partition("[camera]")[0] + f"[camera]\nfrom = {words}\n")
    for folder in ((), ("--folder", ".")):
        said = refused("inspect", "lie.png", "--redraw", "y.png", *folder, cwd=inner)
        assert "lies outside its folder; draw it again from its study" in said


def test_sheet_of_a_scene_in_another_folder_is_drawn_again_where_that_is_named(tmp_path: Path) -> None:
    yard(tmp_path / "levels")
    (tmp_path / "studies").mkdir()
    (tmp_path / "studies" / "yard.study.toml").write_text(
        STUDY.replace("yard.toml", "../levels/yard.toml"), "utf-8"
    )
    done("sheet", "yard.study.toml", *SMALL, "--alone", cwd=tmp_path / "studies")
    done("inspect", "yard.png", "--redraw", "y.png", "--folder", "../levels", cwd=tmp_path / "studies")
    made = listing(tmp_path / "studies")
    assert made["y.png"] == made["yard.png"]


@pytest.mark.skipif(sys.platform != "linux", reason="memory is read as Linux tells it")
@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ("{}," * 5_000_000, "more than 4000000 values"),
        ("{}," * 24_000_000, "more than 64 MiB of text"),
        ('{"a":{"b":[1]}},' * 990_000, ""),  # as much as is read
    ],
    ids=["rows", "text", "most"],
)
def test_record_of_many_rows_is_told_within_memory(rows: str, said: str, tmp_path: Path) -> None:
    record = '{"tool":{"name":"stationpoint","version":"0.1.0"},"renderer":"gl","variants":[],"rows":['
    lying(tmp_path, record=f"{record}{rows}{{}}]}}")
    program = (
        "import resource, sys\nfrom stationpoint import cli\n"
        "sys.argv = ['stationpoint', 'inspect', 'lie.png']\n"
        "try:\n    cli.main()\nfinally:\n"
        "    print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss, file=sys.stderr)\n"
    )
    ended = subprocess.run(
        [sys.executable, "-c", program],
        cwd=tmp_path,
        env=environment(),
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    *told, kib = ended.stderr.splitlines()
    assert ended.returncode == (2 if said else 0), told
    assert said in " ".join(told)
    assert int(kib) < 1.5 * 2**20


def test_many_texts_are_no_way_around_the_most_that_is_read(tmp_path: Path) -> None:
    texts = lying(tmp_path) | {f"text {k}": " " * (1 << 24) for k in range(5)}
    (tmp_path / "lie.png").write_bytes(png_bytes(np.zeros((4, 4, 3), dtype=np.uint8), texts))
    assert "holds more than 64 MiB of text" in refused("inspect", "lie.png", cwd=tmp_path)
