"""`start --kind`: each kind's first study is judged as it is, in the same bytes; a wrong word is answered."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from cli_calls import DATA, SCENE, call, done, refused
from stationpoint.cli.options import KINDS


@pytest.mark.parametrize("kind", KINDS)
def test_study_of_a_kind_is_judged_and_comes_out_in_the_same_bytes(kind: str, tmp_path: Path) -> None:
    (tmp_path / "yard.toml").write_text(SCENE, "utf-8")
    for name in ("one.toml", "two.toml"):
        done("start", "yard.toml", "--kind", kind, "-o", name, cwd=tmp_path)
    assert (tmp_path / "one.toml").read_bytes() == (tmp_path / "two.toml").read_bytes()
    judged = call("judge", "one.toml", "--renderer", "rays", "--json", "judged.json", cwd=tmp_path)
    assert judged.code in (0, 1), judged.err
    verdicts = json.loads((tmp_path / "judged.json").read_bytes())["verdicts"]
    assert len(verdicts) >= 4
    assert all(verdict["holds"] is not None for verdict in verdicts)


@pytest.mark.parametrize("room", ["office.glb", "meeting_room.glb"])
@pytest.mark.parametrize("kind", KINDS)
def test_study_of_a_kind_in_a_real_room_is_read(kind: str, room: str, tmp_path: Path) -> None:
    if not (DATA / room).is_file():
        pytest.skip(f"{room} is not at hand")
    done("start", (DATA / room).resolve(), "--kind", kind, "-o", "room.study.toml", cwd=tmp_path)
    said = done("check", "room.study.toml", cwd=tmp_path)
    assert "the camera is inside" not in said.text


def test_wrong_kind_names_the_nearest_one(tmp_path: Path) -> None:
    (tmp_path / "yard.toml").write_text(SCENE, "utf-8")
    said = refused("start", "yard.toml", "--kind", "third-persn", cwd=tmp_path)
    assert '"third-persn" is none; did you mean "third-person"?' in said
    said = refused("start", "yard.toml", "--kind", "drone", cwd=tmp_path)
    assert "there are third-person, first-person, side-on, overhead, two-subjects." in said
