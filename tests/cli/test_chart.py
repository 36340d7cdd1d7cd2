"""`chart` from end to end: PNG and SVG, what is refused, the same bytes, nothing drawn in vain."""

from __future__ import annotations

import io
import xml.etree.ElementTree as ET
from pathlib import Path
from typing import NoReturn

import numpy as np
import pytest
from PIL import Image

from cli_calls import STUDY, call, done, listing, process, refused, yard
from stationpoint.cli import FAULT

RAYS = ("--renderer", "rays", "--quiet")
RATIO = ("--reading", "gaps.hop.scale_ratio")
SEEN = ("--reading", "targets.crate.seen")
SVG = "{http://www.w3.org/2000/svg}"
ROWS = ("--rows", "projection=perspective,orthographic")


def charted(folder: Path, *words: str) -> bytes:
    """The chart that a call writes; as chart.png, unless the words name another ending."""
    yard(folder)
    endings = (".png", ".svg", ".pdf")
    to = next((f"chart{ending}" for ending in endings if ending in words), "chart.png")
    rest = [word for word in words if word not in endings]
    done("chart", "yard.study.toml", *RAYS, "-o", to, *rest, cwd=folder)
    assert sorted(name for name in listing(folder) if not name.endswith(".toml")) == [to]
    return (folder / to).read_bytes()


def test_chart_is_a_png_of_its_size(tmp_path: Path) -> None:
    picture = Image.open(io.BytesIO(charted(tmp_path, *RATIO)))
    assert (picture.format, picture.size) == ("PNG", (1500, 900))
    assert len(np.unique(np.asarray(picture.convert("L")))) > 20


def test_chart_is_an_svg_where_its_name_says_so(tmp_path: Path) -> None:
    root = ET.fromstring(charted(tmp_path, *RATIO, ".svg"))
    assert root.tag == f"{SVG}svg"
    assert len(list(root.iter(f"{SVG}path"))) > 5
    words = [one.text for one in root.iter(f"{SVG}text")]
    assert {"hop: scale ratio", "focal length, mm", "24", "50"} <= set(words)  # words, not outlines


def test_chart_is_a_pdf_where_its_name_says_so_and_may_be_written_over(tmp_path: Path) -> None:
    for _ in range(2):
        yard(tmp_path)
        done("chart", "yard.study.toml", *RAYS, *RATIO, "-o", "chart.pdf", cwd=tmp_path)
    pdf = (tmp_path / "chart.pdf").read_bytes()
    assert pdf.startswith(b"%PDF-")
    assert b"/FontFile2" in pdf  # TrueType (PDF 32000-1, 9.9)
    assert b"/Type3" not in pdf
    assert b"/CreationDate" not in pdf
    (tmp_path / "other.pdf").write_bytes(pdf.replace(b"/Creator (stationpoint)", b"/Creator (another)"))
    said = refused("chart", "yard.study.toml", *RAYS, *RATIO, "-o", "other.pdf", cwd=tmp_path)
    assert "would be lost" in said


def test_chart_without_a_name_lies_beside_the_study_under_its_name(tmp_path: Path) -> None:
    yard(tmp_path)
    done("chart", "yard.study.toml", *RAYS, *RATIO, cwd=tmp_path)
    assert (tmp_path / "yard.chart.png").read_bytes().startswith(b"\x89PNG")


@pytest.mark.parametrize("ending", [".png", ".svg", ".pdf"])
def test_same_study_gives_the_same_bytes_twice_and_names_no_folder(ending: str, tmp_path: Path) -> None:
    one, other = (charted(tmp_path / name, *SEEN, *ROWS, ending) for name in "ab")
    assert one == other
    assert str(tmp_path).encode() not in one


THEIRS = """
text.usetex: True
savefig.dpi: 30
axes.prop_cycle: cycler("color", ["r"])
figure.autolayout: True
svg.hashsalt: theirs
path.simplify: False
lines.antialiased: False
font.size: 30
font.family: monospace
svg.fonttype: path
pdf.fonttype: 3
figure.dpi: 33
axes.xmargin: 0.4
backend: module://matplotlib_inline.backend_inline
no such key: 1
"""


@pytest.mark.parametrize(
    "theirs",
    [
        {"MPLBACKEND": "module://matplotlib_inline.backend_inline"},  # as a notebook's terminal sets it
        {"MPLBACKEND": "module://nonexistent", "MATPLOTLIBRC": "theirs.rc"},
        {"MATPLOTLIBRC": "theirs.rc"},
        {"MATPLOTLIBRC": "no such file"},
        {},  # a file of that name in the folder itself
    ],
    ids=["notebook", "nonexistent", "file", "no file", "folder"],
)
@pytest.mark.parametrize("ending", [".png", ".svg", ".pdf"])
def test_what_a_person_has_set_for_the_plotting_library_changes_no_byte(
    theirs: dict[str, str], ending: str, tmp_path: Path
) -> None:
    made = []
    for name, environment in (
        ("plain", {}),
        ("theirs", theirs),
    ):  # processes of their own: ids of an SVG hash
        folder = tmp_path / name  # printed numbers, whose form other tests' libraries change in this one
        yard(folder)
        if name == "theirs":
            (folder / ("theirs.rc" if theirs else "matplotlibrc")).write_text(THEIRS, "utf-8")
        words = ("chart", "yard.study.toml", *RAYS, *RATIO, "-o", f"chart{ending}")
        ended = process(*words, cwd=folder, **environment)
        assert (ended.code, ended.err) == (0, "")
        made.append((folder / f"chart{ending}").read_bytes())
    assert made[0] == made[1]


def test_reading_of_what_the_study_lacks_is_refused_in_a_whole_sentence(tmp_path: Path) -> None:
    yard(tmp_path, STUDY.replace('[[target]]\nname = "crate"\nnode = "crate"\n', ""))
    said = refused("chart", "yard.study.toml", *RAYS, *SEEN, cwd=tmp_path)
    assert '--reading "targets.crate.seen": the study has no [[target]], so there is no such reading' in said


def test_field_of_the_columns_is_taken_unless_told(tmp_path: Path) -> None:
    plain, told, other = (
        charted(tmp_path / name, *RATIO, *ROWS, *against)
        for name, against in (
            ("a", ()),
            ("b", ("--against", "focal_mm")),
            ("c", ("--against", "projection")),
        )
    )
    assert plain == told
    assert plain != other


def test_a_limit_of_the_brief_is_drawn(tmp_path: Path) -> None:
    # the failing side is shaded: far more of the picture is dark than without the limit
    study = f'{STUDY}\n[[limit]]\nreading = "gaps.*.scale_ratio"\nmin = 5.0\n'
    shades = []
    for name, text in (("a", STUDY), ("b", study)):
        yard(tmp_path / name, text)
        done("chart", "yard.study.toml", *RAYS, *RATIO, "-o", "c.png", cwd=tmp_path / name)
        shades.append(float(np.asarray(Image.open(tmp_path / name / "c.png").convert("L")).mean()))
    assert shades[1] < shades[0] - 3


# ---- what is refused -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((*RATIO, "-o", "chart.jpg"), "chart.jpg: a chart is a PNG, an SVG or a PDF"),
        ((*RATIO, "-o", "chart"), "chart: a chart is a PNG, an SVG or a PDF"),
        (
            ("--reading", "gaps.hop.scale_ration"),
            '--reading "gaps.hop.scale_ration": that is not a reading; did you mean `gaps.*.scale_ratio`?',
        ),
        (
            ("--reading", "gasp.hop.scale_ratio"),
            "that is not a reading; did you mean `gaps.*.scale_ratio`?",
        ),
        ((*RATIO, "--against", "focal"), "the study does not sweep focal; did you mean focal_mm?"),
        ((*RATIO, "--against", "yaw_deg"), "the study does not sweep yaw_deg; it sweeps focal_mm."),
        ((*RATIO, "--columns", ""), "The study sweeps nothing"),
        (("--reading", "gaps.hop.from_xy"), "is no single number or word"),
        ((), "Missing option '--reading'"),
    ],
)
def test_what_cannot_be_charted_is_said_and_nothing_is_written(
    words: tuple[str, ...], said: str, tmp_path: Path
) -> None:
    yard(tmp_path)
    assert said in refused("chart", "yard.study.toml", *RAYS, *words, cwd=tmp_path)


# ---- what is drawn for it --------------------------------------------------------------------------


@pytest.fixture
def no_renderer(monkeypatch: pytest.MonkeyPatch) -> None:
    """From here on, opening a renderer is a failure of the test."""

    def opened(*_: object, **__: object) -> NoReturn:
        raise AssertionError("a renderer was opened")

    monkeypatch.setattr("stationpoint.run.sweep.open_renderer", opened)


@pytest.mark.usefixtures("no_renderer")
@pytest.mark.parametrize(
    "reading", ["axes.x.px_per_m", "pairs.up-away.swap_m", "planes.ground.worst_arcmin_per_m"]
)
def test_reading_that_needs_no_frame_is_charted_without_a_renderer(reading: str, tmp_path: Path) -> None:
    assert charted(tmp_path, "--reading", reading).startswith(b"\x89PNG")


@pytest.mark.usefixtures("no_renderer")
@pytest.mark.parametrize(
    "words",
    [
        ("--reading", "targets.crate.sean"),
        ("--reading", "targets.crat.seen"),
        ("--reading", "targets.cra*.seen"),
        ("--reading", "targets.crate.hidden_by"),
        (*SEEN, "--against", "focal"),
    ],
)
def test_what_cannot_be_charted_is_refused_before_anything_is_measured(
    words: tuple[str, ...], tmp_path: Path
) -> None:
    yard(tmp_path)
    refused("chart", "yard.study.toml", *RAYS, *words, cwd=tmp_path)


@pytest.mark.usefixtures("no_renderer")
def test_reading_that_needs_frames_would_have_opened_one(tmp_path: Path) -> None:
    # the counterpart: without it the tests above could not fail
    yard(tmp_path)
    ended = call("chart", "yard.study.toml", *RAYS, *SEEN, "-o", "chart.png", cwd=tmp_path)
    assert ended.code == FAULT
    assert "a renderer was opened" in ended.err
