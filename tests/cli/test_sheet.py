"""`sheet` and `demo` end to end: what they write, what they print, and under which names."""

from __future__ import annotations

import io
import json
from pathlib import Path

import pytest
from PIL import Image

from cli_calls import DATA, SCENE, SMALL, STUDY, call, done, listing, process, yard
from stationpoint.record.png import read_png_texts

MODES = ("marks", "clean", "grey", "silhouette", "depth")


def size_of(data: bytes) -> tuple[int, int]:
    with Image.open(io.BytesIO(data)) as image:
        assert image.mode == "RGB"
        image.load()
        return image.size


def test_sheet_writes_picture_record_table_and_ticket_beside_each_other(tmp_path: Path) -> None:
    yard(tmp_path)
    result = done("sheet", "yard.study.toml", *SMALL, cwd=tmp_path)
    made = {name: data for name, data in listing(tmp_path).items() if not name.endswith("toml")}
    assert sorted(made) == ["yard.csv", "yard.json", "yard.png", "yard.txt"]
    assert result.out == b""
    assert result.err.splitlines()[-1] == "Wrote yard.png, yard.json, yard.csv and yard.txt."
    assert min(size_of(made["yard.png"])) > 96
    record = json.loads(made["yard.json"])
    assert [one["id"] for one in record["variants"]] == ["A1", "A2"]
    assert record["renderer"] == "rays"
    assert made["yard.csv"].startswith(b"variant,key,place,picture,")
    assert made["yard.csv"].count(b"\r\n") == 3
    assert made["yard.txt"].decode().splitlines()[0] == "Does the crate show?"
    assert read_png_texts(tmp_path / "yard.png")["stationpoint record"].encode() == made["yard.json"]


def test_picture_goes_where_it_is_named_and_alone_if_asked(tmp_path: Path) -> None:
    yard(tmp_path)
    (tmp_path / "out").mkdir()
    result = done("sheet", "yard.study.toml", *SMALL, "-o", "out", "--alone", "--quiet", cwd=tmp_path)
    assert result.err == ""
    done("sheet", "yard.study.toml", *SMALL, "-o", "a.png", "--alone", "--text", "b.txt", cwd=tmp_path)
    made = [name for name in listing(tmp_path) if not name.endswith("toml")]
    assert made == ["a.png", "b.txt", "out/yard.png"]


def test_picture_or_record_goes_to_standard_output(tmp_path: Path) -> None:
    yard(tmp_path)
    done("sheet", "yard.study.toml", *SMALL, "-o", "a.png", cwd=tmp_path)
    before = listing(tmp_path)
    piped = done("sheet", "yard.study.toml", *SMALL, "-o", "-", cwd=tmp_path)
    assert listing(tmp_path) == before
    assert piped.out == before["a.png"]
    record = done("sheet", "yard.study.toml", *SMALL, "-o", "a.png", "--alone", "--json", "-", cwd=tmp_path)
    assert record.out == before["a.json"]


def test_pages_are_numbered_files(tmp_path: Path) -> None:
    yard(tmp_path)
    done("sheet", "yard.study.toml", *SMALL, "--pages", "pitch_deg=10,30", cwd=tmp_path)
    made = [name for name in listing(tmp_path) if not name.endswith("toml")]
    assert made == ["yard-1.png", "yard-2.png", "yard.csv", "yard.json", "yard.txt"]
    ids = [one["id"] for one in json.loads((tmp_path / "yard.json").read_bytes())["variants"]]
    assert ids == ["1-A1", "1-A2", "2-A1", "2-A2"]


@pytest.mark.parametrize("mode", MODES)
def test_every_mode_keeps_the_record_and_the_layout(mode: str, tmp_path: Path) -> None:
    yard(tmp_path)
    done("sheet", "yard.study.toml", *SMALL, "-o", "marks.png", cwd=tmp_path)
    done("sheet", "yard.study.toml", *SMALL, "-o", "other.png", "--mode", mode, cwd=tmp_path)
    made = listing(tmp_path)
    assert made["marks.json"] == made["other.json"]
    assert size_of(made["marks.png"])[0] == size_of(made["other.png"])[0]
    assert (made["marks.png"] == made["other.png"]) == (mode == "marks")


def test_marks_are_listed_without_a_study_being_read(tmp_path: Path) -> None:
    names = done("sheet", "no such file", "--marks", "list", cwd=tmp_path).text.split()
    assert {"targets", "gaps", "horizon"} <= set(names)
    yard(tmp_path)
    for name in names:
        done("sheet", "yard.study.toml", *SMALL, "--alone", "--marks", name, cwd=tmp_path)


def test_close_up_shows_the_variants_that_are_named(tmp_path: Path) -> None:
    yard(tmp_path)
    done("sheet", "yard.study.toml", "--renderer", "rays", "--variant", "a2", "-o", "one.png", cwd=tmp_path)
    record = json.loads((tmp_path / "one.json").read_bytes())
    assert [one["id"] for one in record["variants"]] == ["A2"]
    assert size_of((tmp_path / "one.png").read_bytes())[0] > 1152
    key = record["variants"][0]["key"]
    done("sheet", "yard.study.toml", *SMALL, "--variant", key, "--variant", "A1", "-o", "2.png", cwd=tmp_path)
    ids = [one["id"] for one in json.loads((tmp_path / "2.json").read_bytes())["variants"]]
    assert sorted(ids) == ["A1", "A2"]


def test_scene_or_mesh_alone_gives_pitch_times_lens_at_held_scale(tmp_path: Path) -> None:
    yard(tmp_path)
    done("mesh", "yard.toml", cwd=tmp_path)
    for file in ("yard.toml", "yard.glb"):
        done("sheet", file, *SMALL, "-o", f"{file}.png", cwd=tmp_path)
        record = json.loads((tmp_path / f"{file}.json").read_bytes())
        settings = {one["id"]: one["settings"] for one in record["variants"]}
        assert list(settings) == ["A1", "A2", "A3", "A4", "B1", "B2", "B3", "B4"]
        assert [settings[f"A{k}"]["focal_mm"] for k in (1, 2, 3, 4)] == [24, 35, 50, 85]
        assert {one["projection"] for one in settings.values()} == {"perspective"}
        assert len({settings[f"{row}1"]["pitch_deg"] for row in "AB"}) == 2
        a, b = settings["A1"], settings["A4"]  # d = d0 f / f0
        assert b["distance_m"] == pytest.approx(a["distance_m"] * 85 / 24, rel=1e-4)


@pytest.mark.parametrize("room", ["office.glb", "meeting_room.glb"])
def test_closed_room_is_looked_at_from_inside(room: str, tmp_path: Path) -> None:
    if not (DATA / room).is_file():
        pytest.skip(f"{room} is not at hand")
    result = done("sheet", (DATA / room).resolve(), *SMALL, "-o", "room.png", cwd=tmp_path)
    assert "without cast shadows" in result.err
    assert "inside" not in result.err.replace("closed in by", "")
    record = json.loads((tmp_path / "room.json").read_bytes())
    assert len(record["variants"]) == 8
    settings = [one["settings"] for one in record["variants"]]
    assert {one["projection"] for one in settings} == {"perspective"}
    assert max(one["distance_m"] for one in settings) < 4.0
    for row in record["rows"]:
        assert row["framing"]["subject_xy"] == pytest.approx([0.5, 0.5], abs=1e-6)


def test_scanned_room_with_named_targets_is_drawn_from_two_dozen_cameras(tmp_path: Path) -> None:
    if not (DATA / "office.glb").is_file():
        pytest.skip("office.glb is not at hand")
    (tmp_path / "office.glb").write_bytes((DATA / "office.glb").read_bytes())
    done("start", "office.glb", cwd=tmp_path)
    axes = ("--rows", "pitch_deg=5,15,25,35", "--columns", "focal_mm=14,18,24,28,35,50")
    done("sheet", "office.study.toml", *SMALL, *axes, cwd=tmp_path)
    record = json.loads((tmp_path / "office.json").read_bytes())
    labels = [f"{row}{column}" for row in "ABCD" for column in range(1, 7)]
    assert [one["id"] for one in record["variants"]] == labels
    assert [row["variant"] for row in record["rows"]] == labels
    names = {"DOOR_FRAME.01", "WALL_ART.01"}  # what the scan, which lies over the furniture, leaves in sight
    for row in record["rows"]:
        assert set(row["targets"]) == names
        assert all(0 <= one["seen"] <= 1 for one in row["targets"].values() if one["seen"] is not None)
    # A longer lens on the same spot shows less: what is in the picture of the door never grows.
    shares = [row["targets"]["DOOR_FRAME.01"]["in_frame"] for row in record["rows"][:6]]
    assert shares == sorted(shares, reverse=True)


def test_place_moves_subject_and_nodes(tmp_path: Path) -> None:
    place = '[[place]]\nname = "later"\nat = [1, 0, 1]\nmove = { "cra*" = [0, 0.5, 1] }\n'
    yard(tmp_path, STUDY + place)
    record = done(
        "measure", "yard.study.toml", "--only", "targets", "--renderer", "rays", cwd=tmp_path
    ).record
    rows = {(row["variant"], row["place"]): row for row in record["rows"]}
    assert list(rows) == [("A1", "here"), ("A1", "later"), ("A2", "here"), ("A2", "later")]
    # The camera moves by (1, 0, 1), the crate by (0, .5, 1): by (-1, .5, 0) as the camera sees it,
    # of which sin 20 of the height brings it nearer.
    here, later = (rows["A1", place]["targets"]["crate"]["depth_m"] for place in ("here", "later"))
    assert later - here == pytest.approx(-0.5 * 0.3420201, abs=1e-5)
    only = done("measure", "yard.study.toml", "--place", "later", "--only", "axes", cwd=tmp_path).record
    assert {row["place"] for row in only["rows"]} == {"later"}


def test_place_turns_the_subject_back_to_heading_zero(tmp_path: Path) -> None:
    from stationpoint.run.cases import moves_at
    from stationpoint.run.prepare import prepare_study
    from stationpoint.study.file import read_study

    text = STUDY.replace('name = "hopper"', 'name = "hopper"\nheading_deg = 90')
    place = '[[place]]\nname = "ahead"\nheading_deg = 0\nat = [0, 0, 2]\n'
    prepared = prepare_study(read_study(yard(tmp_path, text + place)), tmp_path)
    ((name, matrix),) = moves_at(prepared.study.places[1], prepared.study, prepared.scene)
    assert name == "hopper"
    assert matrix[:3, 3] == pytest.approx([0, 0, 2])
    assert matrix[:3, :3] @ [0, 0, -1] == pytest.approx([1, 0, 0])  # a quarter turn back: -Z goes to +X


def test_viewing_of_another_aspect_makes_further_rows(tmp_path: Path) -> None:
    viewings = "".join(
        f'[[viewing]]\nname = "{name}"\ndiagonal_in = 24\npixels = {pixels}\neye_distance_m = 0.6\n'
        for name, pixels in (("desk", [1920, 1080]), ("hand", [1280, 720]), ("wide", [2560, 1080]))
    )
    yard(tmp_path, STUDY + viewings)
    done("sheet", "yard.study.toml", *SMALL, cwd=tmp_path)
    record = json.loads((tmp_path / "yard.json").read_bytes())
    rows = {(row["variant"], row["picture"]): row for row in record["rows"]}
    assert list(rows) == [("A1", "16:9"), ("A1", "64:27"), ("A2", "16:9"), ("A2", "64:27")]
    assert list(rows["A1", "16:9"]["viewing"]) == ["desk", "hand"]
    assert list(rows["A1", "64:27"]["viewing"]) == ["wide"]
    narrow, wide = (rows["A1", words]["matrices"]["projection"] for words in ("16:9", "64:27"))
    assert wide[1][1] == pytest.approx(narrow[1][1])  # aspect_policy height: the vertical angle stays


def test_swept_aspect_is_letterboxed_on_every_screen(tmp_path: Path) -> None:
    yard(tmp_path)
    done("sheet", "yard.study.toml", *SMALL, "--rows", "aspect=16:9,4:3,21:9", cwd=tmp_path)
    record = json.loads((tmp_path / "yard.json").read_bytes())
    pixels = {row["picture"]: row["viewing"]["desk"]["picture_pixels"] for row in record["rows"]}
    assert pixels == {
        "16:9": [1920, 1080],
        "4:3": [1440, 1080],
        "21:9": [1920, pytest.approx(822.857, abs=1)],
    }


def test_viewing_and_light_can_be_swept(tmp_path: Path) -> None:
    viewings = "".join(
        f'[[viewing]]\nname = "{name}"\ndiagonal_in = 24\npixels = [1920, 1080]\neye_distance_m = {eye}\n'
        for name, eye in (("near", 0.6), ("far", 1.2))
    )
    yard(tmp_path, STUDY + viewings)
    words = ("--columns", "viewing=near,far", "--rows", "light_yaw_deg=0,90")
    done("sheet", "yard.study.toml", *SMALL, *words, cwd=tmp_path)
    record = json.loads((tmp_path / "yard.json").read_bytes())
    seats = {row["variant"]: list(row["viewing"]) for row in record["rows"]}
    assert seats == {"A1": ["near"], "A2": ["far"], "B1": ["near"], "B2": ["far"]}


def test_two_fields_move_together_on_one_axis(tmp_path: Path) -> None:
    sweep = "columns = { focal_mm = [24, 50], distance_m = [5, 10] }"
    yard(tmp_path, STUDY.replace("columns = { focal_mm = [24, 50] }", sweep))
    record = done("measure", "yard.study.toml", "--only", "axes", cwd=tmp_path).record
    settings = [(one["settings"]["focal_mm"], one["settings"]["distance_m"]) for one in record["variants"]]
    assert settings == [(24, 5), (50, 10)]


def test_camera_is_taken_from_a_glb(tmp_path: Path) -> None:
    yard(tmp_path)
    done("mesh", "yard.study.toml", "-o", "level.glb", cwd=tmp_path)
    text = STUDY.partition("[camera]")[0].replace("yard.toml", "level.glb")
    text += '[camera]\nfrom = "level.glb#study camera"\nanchor_height_m = 0.9\n'
    yard(tmp_path, text)
    taken = done("measure", "yard.study.toml", "--renderer", "rays", cwd=tmp_path).record
    assert len(taken["variants"]) == 1
    settings = taken["variants"][0]["settings"]
    assert settings["focal_mm"] == pytest.approx(35, abs=1e-4)
    assert settings["distance_m"] == pytest.approx(8, abs=1e-4)
    assert settings["pitch_deg"] == pytest.approx(20, abs=1e-3)
    assert settings["aspect"] == "16:9"
    yard(tmp_path)
    whole = done("measure", "yard.study.toml", "--columns", "", "--renderer", "rays", cwd=tmp_path).record
    xy, wanted = (one["rows"][0]["targets"]["crate"]["screen_xy"] for one in (taken, whole))
    assert xy == pytest.approx(wanted, abs=1e-6)
    words = ("--columns", "focal_mm=20,40", "--rows", "distance_m=4,8", "--only", "axes")
    yard(tmp_path, text)
    swept = done("measure", "yard.study.toml", *words, cwd=tmp_path).record
    found = [(one["settings"]["distance_m"], one["settings"]["focal_mm"]) for one in swept["variants"]]
    assert found == [(4, 20), (4, 40), (8, 20), (8, 40)]


def test_targets_gaps_and_subject_may_be_left_out(tmp_path: Path) -> None:
    (tmp_path / "yard.toml").write_text('[[solid]]\nname = "crate"\nshape = "box"\nsize = [1, 1, 1]\n')
    (tmp_path / "bare.study.toml").write_text('scene = "yard.toml"\n')
    done("sheet", "bare.study.toml", *SMALL, cwd=tmp_path)
    record = json.loads((tmp_path / "bare.json").read_bytes())
    assert len(record["rows"]) == 1
    assert record["rows"][0].get("targets", {}) == {}


@pytest.mark.parametrize(
    "title", ["", "w" * 200, "Is it " + "a very long question " * 9 + "at all?", "Zwölf €\n?"]
)
def test_any_title_is_drawn(title: str, tmp_path: Path) -> None:
    yard(tmp_path, STUDY.replace('"Does the crate show?"', json.dumps(title, ensure_ascii=False)))
    done("sheet", "yard.study.toml", *SMALL, cwd=tmp_path)
    assert json.loads((tmp_path / "yard.json").read_bytes())["study"]["title"] == title


def test_forty_targets_are_drawn_and_measured(tmp_path: Path) -> None:
    solid = '[[solid]]\nname = "post"\nshape = "box"\nsize = [0.2, 1, 0.2]\nat = [-8, 0, -3]\n'
    scene = f"{solid}repeat = {{ count = 40, step = [0.4, 0, 0] }}\n"
    targets = "".join(f'[[target]]\nname = "t{k}"\nnode = "post.{k}"\n' for k in range(1, 41))
    yard(tmp_path, 'scene = "yard.toml"\n' + targets, scene)
    done("sheet", "yard.study.toml", *SMALL, cwd=tmp_path)
    record = json.loads((tmp_path / "yard.json").read_bytes())
    assert len(record["rows"][0]["targets"]) == 40
    assert all(one["seen"] is not None for one in record["rows"][0]["targets"].values())


def test_demo_is_drawn_listed_and_copied(tmp_path: Path) -> None:
    listed = done("demo", "--list", cwd=tmp_path).text.splitlines()
    assert len(listed) >= 3
    assert all("?" in line for line in listed)
    result = done("demo", "quay", "-o", "out", "--copy", *SMALL, cwd=tmp_path)
    made = list(listing(tmp_path))
    assert made == [f"out/quay.{end}" for end in ("csv", "json", "png", "study.toml", "toml", "txt")]
    assert "out/quay.png" in result.err
    done("demo", "quay", "-o", "out", "--copy", *SMALL, cwd=tmp_path)
    with (tmp_path / "out" / "quay.study.toml").open("a") as file:
        file.write("# mine\n")
    again = call("demo", "quay", "-o", "out", "--copy", *SMALL, cwd=tmp_path)
    assert again.code == 2
    assert "quay.study.toml is there already and would be lost" in again.err
    assert (tmp_path / "out" / "quay.study.toml").read_text().endswith("# mine\n")


def test_progress_is_told_in_lines_where_it_is_asked_for(tmp_path: Path) -> None:
    yard(tmp_path)
    quiet = done("sheet", "yard.study.toml", *SMALL, cwd=tmp_path)
    assert "drawn." not in quiet.err
    told = done("sheet", "yard.study.toml", *SMALL, "--progress", cwd=tmp_path)
    assert [line for line in told.err.splitlines() if "drawn." in line] == ["1 of 2 drawn.", "2 of 2 drawn."]


def test_shell_completion_is_offered(tmp_path: Path) -> None:
    source = process(cwd=tmp_path, _STATIONPOINT_COMPLETE="bash_source")
    assert source.code == 0
    assert "complete " in source.text
    found = process(
        cwd=tmp_path, _STATIONPOINT_COMPLETE="bash_complete", COMP_WORDS="stationpoint s", COMP_CWORD="1"
    )
    assert found.text.split() == ["plain,start", "plain,sheet", "plain,solve"]


def test_signs_that_no_font_has_are_told_and_kept_in_the_record(tmp_path: Path) -> None:
    odd = STUDY.replace("Does the crate show?", "\U00012000?").replace(
        'name = "crate"', 'name = "\U00012000\u16a0"', 1
    )
    line = (
        'No font at hand has U+12000 and U+16A0 (2 signs), in the title and target "\U00012000\u16a0"; '
        "a mark is drawn for each. Name a font that has them: "
        'fonts = ["FILE.ttf"] in the study, or --font FILE.'
    )
    for words in (("sheet",), ("twins", "--shift", "1"), ("chart", "--reading", "gaps.hop.scale_ratio")):
        small = SMALL if words[0] != "chart" else SMALL[:2]
        hanging = SCENE.replace("at = [2, 0, -2]", "at = [2, 2, -2]")
        yard(tmp_path, odd, hanging)
        said = done(words[0], "yard.study.toml", *small, *words[1:], cwd=tmp_path).err.splitlines()
        assert said.count(line) == 1, words
    assert "\U00012000\u16a0" in json.loads((tmp_path / "yard.json").read_bytes())["rows"][0]["targets"]
    yard(tmp_path)
    assert "No font" not in done("sheet", "yard.study.toml", *SMALL, cwd=tmp_path).err
