"""`check --nodes`: names, sizes, heights, and the floors under them."""

from __future__ import annotations

from pathlib import Path

from cli_calls import SCENE, done, refused, yard

STOOL = '\n[[solid]]\nshape = "box"\nsize = [0.5, 0.25, 0.5]\nat = [2, 1, -2]\n'
LAMP = '\n[[solid]]\nname = "crate"\nshape = "box"\nsize = [0.2, 0.2, 0.2]\nat = [-5, 2.5, 0]\n'


def test_nodes_are_listed_with_sizes_heights_and_floors(tmp_path: Path) -> None:
    (tmp_path / "s.toml").write_text(SCENE + STOOL + LAMP, "utf-8")
    lines = done("check", "s.toml", "--nodes", "*", cwd=tmp_path).text.splitlines()
    table = {line.split("  ")[0]: [cell.strip() for cell in line.split("  ")[1:] if cell] for line in lines}
    # The crate is 1 m high on the ground at 0; the nameless box lies on it; the other crate hangs 2.5 m up.
    assert table["crate"] == ["1 × 1 × 1", "0", "1", "0 ground"]
    assert table["part-1"] == ["0.5 × 0.25 × 0.5", "1", "1.25", "1 crate"]
    assert table["crate.2"] == ["0.2 × 0.2 × 0.2", "2.5", "2.7", "0 ground, 2.5 below it"]
    assert table["ground"][-1] == "none"


def test_nodes_of_a_study_are_found_by_pattern(tmp_path: Path) -> None:
    yard(tmp_path)
    said = done("check", "yard.study.toml", "--nodes", "c?ate*", cwd=tmp_path).text
    assert [line.split()[0] for line in said.splitlines()] == ["name", "crate"]


def test_nodes_that_are_not_there_are_told_with_the_nearest_name(tmp_path: Path) -> None:
    yard(tmp_path)
    assert "did you mean `crate`?" in refused("check", "yard.toml", "--nodes", "crat", cwd=tmp_path)
    assert '"z*" matches no node' in refused("check", "yard.toml", "--nodes", "z*", cwd=tmp_path)
