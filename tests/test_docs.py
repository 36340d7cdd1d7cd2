"""The docs against the code: printed pages are current, examples read, commands run, links lead somewhere."""

from __future__ import annotations

import json
import re
import shlex
import shutil
import textwrap
import tomllib
from itertools import pairwise
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from click.testing import CliRunner
from PIL import Image

import docs_text
from stationpoint.base.allowed import keys_of
from stationpoint.cli import stationpoint
from stationpoint.record.kept import read_kept_texts
from stationpoint.scene.file import SceneFile
from stationpoint.study.file import read_study, study_digest, study_from_text
from stationpoint.study.models import Study
from stationpoint.study.toml import study_text

ROOT = Path(__file__).parents[1]
DOCS = ROOT / "docs"
PAGES = sorted([*ROOT.glob("*.md"), *DOCS.glob("*.md")])
FENCE = re.compile(r"^( *)```(\w*)\n(.*?)^\1```$", re.MULTILINE | re.DOTALL)
LINK = re.compile(r"\]\(([^)\s]+)\)")
SMALL = {
    "quay": ["--columns", "focal_mm=35"],
    "greenhouse": ["--columns", "yaw_deg=0"],
    "quarry": ["--rows", "yaw_deg=30"],
    "rooftop": ["--rows", "projection=orthographic"],
}
PRINTED = (docs_text.READINGS, docs_text.SCHEMA, docs_text.SHEET, *docs_text.KEYS)


def blocks(page: Path, kind: str) -> list[str]:
    """The fenced blocks of a kind, without the indent of a list that they stand in."""
    found = FENCE.findall(page.read_text("utf-8"))
    return [textwrap.dedent(body) for _, named, body in found if named == kind]


def run(*arguments: str) -> tuple[int, str]:
    """Exit code, and what a terminal would show."""
    done = CliRunner().invoke(stationpoint, list(arguments))
    return done.exit_code, done.output


# ---- what is printed from the code --------------------------------------------------------------


@pytest.mark.parametrize("name", PRINTED)
def test_page_is_as_the_code_prints_it(name: str) -> None:
    made = docs_text.pages(DOCS)
    assert (DOCS / name).read_text("utf-8") == made[DOCS / name], (
        "out of date; rewrite it with: python tests/docs_text.py"
    )


def test_key_that_a_page_lacks_is_noticed() -> None:
    text = (DOCS / "scene-file.md").read_text("utf-8")
    lacking = "\n".join(line for line in text.splitlines() if not line.startswith("| `turn_deg`"))
    with pytest.raises(ValueError, match=r"\[\[solid\]\]: the keys are"):
        docs_text.filled(lacking, SceneFile)


def test_key_that_the_code_lacks_is_noticed() -> None:
    text = (DOCS / "scene-file.md").read_text("utf-8")
    with pytest.raises(ValueError, match=r"spin_deg.*is not a row of a key"):
        docs_text.filled(text.replace("| `turn_deg`", "| `spin_deg`"), SceneFile)


@pytest.mark.parametrize("there", ["| parallax |", "| light on form |", docs_text.CUE_HEADER])
def test_depth_cue_that_a_page_lacks_is_noticed(there: str) -> None:
    text = (DOCS / docs_text.SHEET).read_text("utf-8")
    lacking = "\n".join(line for line in text.splitlines() if not line.startswith(there))
    with pytest.raises(ValueError, match="the cues are"):
        docs_text.with_cues(lacking)


def test_thresholds_of_the_depth_cues_are_those_of_their_sources() -> None:
    # 3 %, 10 %, 2'/s and 5' after Cutting and Vishton 1995, 0.6 degrees after Perception 24, 1131, the
    # others common practice; three times as much reads at a glance
    rows = [
        line.strip("| ").split(" | ") for line in (DOCS / docs_text.SHEET).read_text("utf-8").splitlines()
    ]
    told = {row[1].strip("`"): (row[2], row[3]) for row in rows if len(row) == 6 and row[1] != "letter"}
    assert {letter: told.get(letter) for letter in "OSHDCTVZPL"} == {
        "O": ("10 arcmin", "30 arcmin"),
        "S": ("3 %", "9 %"),
        "H": ("5 arcmin", "15 arcmin"),
        "D": ("5 arcmin", "15 arcmin"),
        "C": ("256 sq arcmin", "768 sq arcmin"),
        "T": ("10 %", "30 %"),
        "V": ("0.6 deg", "1.8 deg"),
        "Z": ("10 %", "30 %"),
        "P": ("2 arcmin/s and 10 %", "6 arcmin/s and 30 %"),
        "L": ("2 faces", "6 faces"),
    }


def test_the_command_rewrites_the_same_pages(tmp_path: Path) -> None:
    shutil.copytree(DOCS, tmp_path / "docs")
    assert docs_text.main([str(tmp_path / "docs")]) == 0
    for name in PRINTED:
        assert (tmp_path / "docs" / name).read_bytes() == (DOCS / name).read_bytes()


# ---- the schema against records -----------------------------------------------------------------


@pytest.mark.parametrize("name", sorted(SMALL))
def test_record_of_a_demo_study_fits_the_schema(name: str, tmp_path: Path) -> None:
    study, to = ROOT / "scenes" / f"{name}.study.toml", tmp_path / "record.json"
    code, said = run("measure", str(study), "--json", str(to), *SMALL[name])
    assert code == 0, said
    record = json.loads(to.read_text("utf-8"))
    assert len(record["rows"]) >= 2
    schema = json.loads((DOCS / docs_text.SCHEMA).read_text("utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.Draft202012Validator(schema).validate(record)


def test_record_of_one_group_fits_the_schema_and_one_that_lacks_a_setting_does_not(tmp_path: Path) -> None:
    study, to = ROOT / "scenes" / "quay.study.toml", tmp_path / "record.json"
    assert run("measure", str(study), "--only", "axes", "--json", str(to), *SMALL["quay"])[0] == 0
    record = json.loads(to.read_text("utf-8"))
    schema = json.loads((DOCS / docs_text.SCHEMA).read_text("utf-8"))
    jsonschema.Draft202012Validator(schema).validate(record)
    del record["variants"][0]["settings"]["pitch_deg"]
    with pytest.raises(jsonschema.ValidationError, match="pitch_deg"):
        jsonschema.Draft202012Validator(schema).validate(record)


# ---- examples -----------------------------------------------------------------------------------


STUDIES = [
    (f"{page.name} {number}", body)
    for page in (ROOT / "README.md", DOCS / "study-file.md")
    for number, body in enumerate(blocks(page, "toml"), 1)
]


def test_there_are_study_examples() -> None:
    assert len(STUDIES) >= 12


@pytest.mark.parametrize(("where", "body"), STUDIES, ids=[where for where, _ in STUDIES])
def test_study_example_reads(where: str, body: str) -> None:
    whole = body if "scene" in tomllib.loads(body) else f'scene = "quay.toml"\n{body}'
    study_from_text(whole, where)


def test_every_key_of_a_study_has_an_example() -> None:
    given = {key for _, body in STUDIES for key in tomllib.loads(body)}
    assert set(keys_of(Study)) - given == set()


def test_scene_examples_read() -> None:
    bodies = blocks(DOCS / "scene-file.md", "toml")
    assert len(bodies) >= 3
    shapes = set()
    for body in bodies:
        scene = SceneFile.model_validate(tomllib.loads(body))
        shapes |= {solid.shape for solid in scene.solid}
    assert len(shapes) == 7, "an example of every shape"


def test_readme_begins_with_two_commands_that_stand_alone() -> None:
    text = (ROOT / "README.md").read_text("utf-8")
    kinds = [named for _, named, _ in FENCE.findall(text)]
    assert kinds[:2] == ["sh", "sh"]
    draw, test = blocks(ROOT / "README.md", "sh")[:2]
    for command in (draw, test):
        assert command.startswith("python3 -m venv .venv && .venv/bin/pip install")
    assert draw.rstrip().endswith("stationpoint demo quay -o out")
    assert test.rstrip().endswith("-m pytest")


def test_readme_steps_run_and_say_what_the_readme_says(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every `$ stationpoint` line of the README in its order, in an empty folder with level.glb."""
    readme = ROOT / "README.md"
    shutil.copy(ROOT / "scenes" / "quarry.glb", tmp_path / "level.glb")
    monkeypatch.chdir(tmp_path)
    ran = 0
    for body in blocks(readme, "console"):
        for step in re.split(r"^\$ ", body, flags=re.MULTILINE)[1:]:
            command, *shown = step.rstrip("\n").split("\n")
            words = shlex.split(command.partition(" > ")[0])
            assert words[0] == "stationpoint"
            if "level.study.toml" in words and ran < 3:
                Path("level.study.toml").write_text(blocks(readme, "toml")[0], "utf-8")
            code, said = run(*words[1:])
            ran += 1
            assert code == 0, said
            lines = said.splitlines()
            assert [line for line in shown if line not in lines] == [], f"$ {command}\n{said}"
    assert ran >= 8
    (begins,) = blocks(readme, "text")
    assert Path("level.txt").read_text("utf-8").startswith(begins)
    assert Path("again.png").read_bytes() == Path("level.png").read_bytes()


# ---- links, pictures, marks ---------------------------------------------------------------------


def anchors(page: Path) -> set[str]:
    """What "#..." may name on a page, as GitHub makes it of a heading."""
    heads = re.findall(r"^#+ (.+)$", page.read_text("utf-8"), re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", head.lower()).replace(" ", "-") for head in heads}


@pytest.mark.parametrize("page", PAGES, ids=[page.name for page in PAGES])
def test_links_lead_somewhere(page: Path) -> None:
    for link in LINK.findall(page.read_text("utf-8")):
        if link.startswith("http"):
            continue
        file, _, anchor = link.partition("#")
        there = (page.parent / file).resolve() if file else page
        assert there.exists(), f"{page.name} links to {link}"
        if anchor:
            assert anchor in anchors(there), f"{page.name} links to {link}"


def picture_commands() -> dict[str, list[str]]:
    """The words of the command that draws a picture of docs/, by the picture's name."""
    drawn = [words for words in picture_lines() if words[1] != "start"]
    return {Path(words[words.index("-o") + 1]).name: words for words in drawn}


def picture_lines() -> list[list[str]]:
    """The words of every command of pictures.md."""
    return [shlex.split(line) for body in blocks(DOCS / "pictures.md", "sh") for line in body.splitlines()]


def first_study_of(study: str, folder: Path) -> Study:
    """The study that a picture's first study is, started anew into a folder."""
    (words,) = [one for one in picture_lines() if one[1] == "start" and one[-1] == study]
    code, said = run("start", str(ROOT / words[2]), *words[3:-1], str(folder / "first.study.toml"))
    assert code == 0, said
    return read_study(folder / "first.study.toml").model_copy(update={"scene": f"../{words[2]}"})


def test_every_picture_is_shown_has_its_command_and_is_not_too_heavy() -> None:
    shown = {
        Path(link).name
        for page in PAGES
        for link in LINK.findall(page.read_text("utf-8"))
        if link.endswith((".png", ".svg"))
    }
    pictures = [*DOCS.glob("*.png"), *DOCS.glob("*.svg")]
    there = {path.name for path in pictures}
    assert len(there) >= 10
    assert shown == there == set(picture_commands())
    most = {".png": 1_200_000, ".svg": 300_000}
    assert [path.name for path in pictures if path.stat().st_size > most[path.suffix]] == []


@pytest.mark.parametrize("name", sorted(picture_commands()))
def test_picture_shows_the_study_as_it_is(name: str, tmp_path: Path) -> None:
    words = picture_commands()[name]
    assert words[0] == "stationpoint"
    if words[1] == "chart":  # it carries no study, but is soon drawn
        again = tmp_path / name
        assert run(*words[1:2], str(ROOT / words[2]), *words[3:-1], str(again))[0] == 0
        pair = [np.asarray(Image.open(path).convert("L"), dtype=float) for path in (DOCS / name, again)]
        assert pair[0].shape == pair[1].shape
        assert np.abs(pair[0] - pair[1]).mean() < 0.5, f"docs/{name} is out of date"
        return
    first = words[2].startswith("out/")
    study = first_study_of(words[2], tmp_path) if first else read_study(ROOT / words[2])
    if "--shift" in words:
        study = study.model_copy(update={"twin_shift_m": float(words[words.index("--shift") + 1])})
    if first:
        changes = dict(pairwise(words))
        axes = {axis: changes.get(f"--{axis}") for axis in ("rows", "columns")}
        study = study_from_text(study_text(study), name, (), **axes)
    texts = read_kept_texts(DOCS / name, ("stationpoint study",))
    carried = study_from_text(texts["stationpoint study"], name)
    assert study_digest(carried) == study_digest(study), f"docs/{name} is out of date"


def test_every_mark_and_mode_is_explained() -> None:
    from stationpoint.sheet.marks import known_marks
    from stationpoint.sheet.modes.modes import MODES

    text = (DOCS / "reading-a-sheet.md").read_text("utf-8")
    assert len(known_marks()) >= 7
    assert [name for name in (*known_marks(), *MODES) if f"`{name}`" not in text] == []


def test_every_command_is_named_in_the_readme() -> None:
    from stationpoint.cli import COMMANDS

    text = (ROOT / "README.md").read_text("utf-8")
    assert [name for name in COMMANDS if f"stationpoint {name}" not in text] == []
