"""The docs against the code: printed pages are current, examples read, commands run, links lead somewhere."""

from __future__ import annotations

import json
import re
import shlex
import shutil
import textwrap
import tomllib
from pathlib import Path

import jsonschema
import pytest
from click.testing import CliRunner

from stationpoint import docs_text
from stationpoint.cli import stationpoint
from stationpoint.output.png import read_png_texts
from stationpoint.scene.file import SceneFile
from stationpoint.study.file import read_study, study_digest, study_from_text
from stationpoint.study.models import Study

ROOT = Path(__file__).parents[1]
DOCS = ROOT / "docs"
PAGES = sorted([*ROOT.glob("*.md"), *DOCS.glob("*.md")])
FENCE = re.compile(r"^( *)```(\w*)\n(.*?)^\1```$", re.MULTILINE | re.DOTALL)
LINK = re.compile(r"\]\(([^)\s]+)\)")
SMALL = {
    "quay": ["--columns", "focal_mm=35"],
    "greenhouse": ["--columns", "yaw_deg=0"],
    "quarry": ["--rows", "yaw_deg=30"],
}


def blocks(page: Path, kind: str) -> list[str]:
    """The fenced blocks of a kind, without the indent of a list that they stand in."""
    found = FENCE.findall(page.read_text("utf-8"))
    return [textwrap.dedent(body) for _, named, body in found if named == kind]


def run(*arguments: str) -> tuple[int, str]:
    """Exit code, and what a terminal would show."""
    done = CliRunner().invoke(stationpoint, list(arguments))
    return done.exit_code, done.output


# ---- what is printed from the code --------------------------------------------------------------


@pytest.mark.parametrize("name", [docs_text.READINGS, docs_text.SCHEMA, *docs_text.KEYS])
def test_page_is_as_the_code_prints_it(name: str) -> None:
    made = docs_text.pages(DOCS)
    assert (DOCS / name).read_text("utf-8") == made[DOCS / name], (
        "out of date; rewrite it with: python -m stationpoint.docs_text"
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


def test_the_command_rewrites_the_same_pages(tmp_path: Path) -> None:
    shutil.copytree(DOCS, tmp_path / "docs")
    assert docs_text.main([str(tmp_path / "docs")]) == 0
    for name in (docs_text.READINGS, docs_text.SCHEMA, *docs_text.KEYS):
        assert (tmp_path / "docs" / name).read_bytes() == (DOCS / name).read_bytes()


# ---- the schema against records -----------------------------------------------------------------


@pytest.mark.parametrize("name", sorted(SMALL))
def test_record_of_a_demo_study_fits_the_schema(name: str, tmp_path: Path) -> None:
    study, to = ROOT / "scenes" / f"{name}.study.toml", tmp_path / "record.json"
    code, said = run("measure", str(study), "--renderer", "rays", "--json", str(to), *SMALL[name])
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


def test_every_table_of_a_study_has_an_example() -> None:
    given = [tomllib.loads(body) for _, body in STUDIES]
    tables = [
        key for key in Study.model_fields if any(isinstance(data.get(key), list | dict) for data in given)
    ]
    assert tables == [
        key
        for key in Study.model_fields
        if key not in ("title", "scene", "here", "show_aids", "glance_factor", "twin_shift_m")
    ]


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


def test_every_picture_has_its_command_and_shows_the_study_as_it_is() -> None:
    shown = {
        Path(link).name for page in PAGES for link in LINK.findall(page.read_text("utf-8")) if ".png" in link
    }
    assert shown == {path.name for path in DOCS.glob("*.png")}
    (body,) = blocks(DOCS / "pictures.md", "sh")
    made = {}
    for line in body.splitlines():
        words = shlex.split(line)
        made[Path(words[words.index("-o") + 1]).name] = ROOT / words[2]
    assert set(made) == shown
    for name, study in made.items():
        texts = read_png_texts(str(DOCS / name), ("stationpoint study",))
        carried = study_from_text(texts["stationpoint study"], name)
        assert study_digest(carried) == study_digest(read_study(study)), f"docs/{name} is out of date"


def test_every_mark_and_mode_is_explained() -> None:
    from stationpoint.sheet.marks import known_marks
    from stationpoint.sheet.modes import MODES

    text = (DOCS / "reading-a-sheet.md").read_text("utf-8")
    assert len(known_marks()) >= 7
    assert [name for name in (*known_marks(), *MODES) if f"`{name}`" not in text] == []


def test_every_command_is_named_in_the_readme() -> None:
    from stationpoint.cli import COMMANDS

    text = (ROOT / "README.md").read_text("utf-8")
    assert [name for name in COMMANDS if f"stationpoint {name}" not in text] == []
