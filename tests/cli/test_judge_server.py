"""`judge` on a build server: several studies, reports, and what got worse since a baseline."""

from __future__ import annotations

from pathlib import Path
from xml.dom import minidom

import pytest
from junitparser import Error, Failure, JUnitXml, Skipped

from cli_calls import call, listing, refused
from pier import STUDY, pier

RAYS = ("--renderer", "rays", "--quiet")
ODD = 'crate <b>&"\x1b[31m|*@you*'


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    pier(tmp_path)
    return tmp_path


def judged(folder: Path, *words: str) -> tuple[int, list[str]]:
    found = call("judge", "pier.study.toml", *RAYS, *words, cwd=folder)
    assert "Traceback" not in found.err
    return found.code, found.text.splitlines()


def test_what_got_worse_since_the_baseline_ends_with_1_until_it_is_accepted(folder: Path) -> None:
    base = ("--baseline", "base.json")
    assert "make it with --accept" in refused("judge", "pier.study.toml", *RAYS, *base, cwd=folder)
    assert judged(folder, *base, "--accept")[0] == 0
    first = (folder / "base.json").read_bytes()
    assert judged(folder, *base)[0] == 0
    pier(folder, 0.62)
    code, lines = judged(folder, *base)
    assert code == 1
    assert (
        "Worse: 24 mm in perspective, at high tide: crate seen 92 % -> 61 %, hidden by barge-2" in lines
    )  # by hand in tests/pier.py
    assert (folder / "base.json").read_bytes() == first
    assert judged(folder, *base, "--tolerance", "targets.*.seen=0.4")[0] == 0
    assert judged(folder, *base, "--accept")[0] == 0
    assert judged(folder, *base)[0] == 0
    pier(folder)  # better is no worse
    assert judged(folder, *base)[0] == 0


def test_a_must_that_fails_ends_with_1_though_nothing_is_worse(folder: Path) -> None:
    pier(folder, study=STUDY.replace("min = 0.5", "min = 0.99"))
    assert judged(folder, "--baseline", "base.json", "--accept")[0] == 1
    code, lines = judged(folder, "--baseline", "base.json")
    assert code == 1
    assert not [line for line in lines if line.startswith("Worse")]


def test_more_is_worse_where_the_brief_bounds_from_above(folder: Path) -> None:
    less = STUDY.replace(
        'reading = "targets.crate.seen"\nmin = 0.5', 'reading = "targets.crate.seen"\nmax = 0.95'
    )
    pier(folder, 0.62, less)
    judged(folder, "--baseline", "base.json", "--accept")
    pier(folder, 0.0, less)
    assert judged(folder, "--baseline", "base.json")[0] == 1
    judged(folder, "--baseline", "base.json", "--accept")
    pier(folder, 0.62, less)
    assert judged(folder, "--baseline", "base.json")[0] == 0


def test_a_baseline_is_compared_with_what_is_judged_alone(folder: Path) -> None:
    judged(folder, "--baseline", "base.json", "--accept")
    assert judged(folder, "--baseline", "base.json", "--variant", "A2")[0] == 0


def test_a_variant_that_is_gone_is_worse_and_another_camera_must_be_accepted(folder: Path) -> None:
    base = ("--baseline", "base.json")
    judged(folder, *base, "--accept")
    code, lines = judged(folder, *base, "--columns", "focal_mm=24")
    assert code == 1
    assert "Worse: 20 mm in perspective: gone" in lines
    other = ("--columns", "focal_mm=26,28")
    said = refused("judge", "pier.study.toml", *RAYS, *base, *other, cwd=folder)
    assert "no variant in common" in said
    assert "--accept" in said
    assert judged(folder, *base, *other, "--accept")[0] == 0
    assert judged(folder, *base, *other)[0] == 0


@pytest.mark.parametrize("text", ["notes of mine\n", '{"a": 1}', '{"tool": {"name": "stationpoint"}}'])
def test_a_baseline_that_is_no_record_is_never_written_over(folder: Path, text: str) -> None:
    (folder / "base.json").write_text(text, "utf-8")
    words = ("judge", "pier.study.toml", *RAYS, "--baseline", "base.json", "--accept")
    for more in ((), ("--force",)):
        refused(*words, *more, cwd=folder)


def test_accept_and_tolerance_need_a_baseline(folder: Path) -> None:
    for words in (("--accept",), ("--tolerance", "targets.*.seen=0.1")):
        assert "--baseline" in refused("judge", "pier.study.toml", *RAYS, *words, cwd=folder)


def test_several_studies_are_judged_past_a_broken_one_which_ends_with_2(folder: Path) -> None:
    (folder / "broken.study.toml").write_text("scene = 3", "utf-8")
    failing = STUDY.replace("min = 0.5", "min = 0.99")
    (folder / "strict.study.toml").write_text(failing, "utf-8")
    files = ("pier.study.toml", "broken.study.toml", "strict.study.toml")
    found = call("judge", *files, *RAYS, "--junit", "all.xml", cwd=folder)
    assert found.code == 2
    assert "pier.study.toml: 2 of 2 variants hold." in found.text.splitlines()
    assert "strict.study.toml: 0 of 2 variants hold." in found.text.splitlines()
    assert found.err.startswith("broken.study.toml: ")
    suites = {suite.name: list(suite) for suite in JUnitXml.fromfile(str(folder / "all.xml"))}
    assert list(suites) == list(files)
    (case,) = suites["broken.study.toml"]
    assert isinstance(case.result[0], Error)
    assert all(isinstance(case.result[0], Failure) for case in suites["strict.study.toml"])
    both = call("judge", "pier.study.toml", "strict.study.toml", *RAYS, cwd=folder)
    assert both.code == 1
    (folder / "again.study.toml").write_text(STUDY, "utf-8")
    assert call("judge", "pier.study.toml", "again.study.toml", *RAYS, cwd=folder).code == 0


def test_what_is_of_one_study_is_refused_for_several(folder: Path) -> None:
    for words in (("--json", "all.json"), ("--baseline", "base.json"), ("--variant", "A1")):
        asked = (*words, "--markdown", "all.md")
        said = refused("judge", "pier.study.toml", "pier.study.toml", *RAYS, *asked, cwd=folder)
        assert words[0] in said


def test_reports_of_variants_and_rows_of_levels_are_not_asked_at_once(folder: Path) -> None:
    for words in (("--junit", "all.xml"), ("--markdown", "all.md")):
        said = refused("judge", "pier.study.toml", *RAYS, *words, "--cache", "kept", cwd=folder)
        assert words[0] in said
        assert "--cache" in said


def test_junit_has_a_test_for_each_variant_and_must_and_says_what_judge_prints(folder: Path) -> None:
    more = '[[limit]]\nreading = "targets.crate.in_frame"\nmin = 0.5\n'
    should = '[[limit]]\nreading = "targets.crate.in_frame"\nmin = 0.6\nlevel = "should"\n'
    pier(folder, 0.62, STUDY.replace("min = 0.5", "min = 0.8") + more + should)
    code, lines = judged(folder, "--junit", "pier.xml")
    assert code == 1
    (suite,) = list(JUnitXml.fromfile(str(folder / "pier.xml")))
    cases = list(suite)
    assert [len(cases), suite.tests, suite.failures, suite.errors] == [4, 4, 2, 0]
    failures = [case.result[0].message for case in cases if case.result]
    assert failures == [line for line in lines if " fails: " in line]
    assert "A1 (focal_mm 20): crate: seen at least 80 %" in [case.name for case in cases]


def test_a_must_about_another_place_is_left_out_of_the_tests(folder: Path) -> None:
    place = '[[place]]\nname = "low tide"\nmove = { "barge-2" = [0, 0.2, 0] }\n\n[camera]'
    limit = '[[limit]]\nreading = "targets.crate.in_frame"\nmin = 0.5\nplace = "low tide"\n'
    pier(folder, 0.0, STUDY.replace("[camera]", place) + limit)
    sweep = ("--columns", "place=high tide,low tide")
    assert judged(folder, *sweep, "--junit", "pier.xml")[0] == 0
    (suite,) = list(JUnitXml.fromfile(str(folder / "pier.xml")))
    left_out = [case for case in suite if case.result]
    assert len(left_out) == 1
    assert isinstance(left_out[0].result[0], Skipped)


def test_names_with_markup_and_control_characters_are_safe_in_reports(folder: Path) -> None:
    quoted = ODD.replace('"', '\\"').replace("\x1b", "\\u001b")
    odd = STUDY.replace('name = "crate"', f'name = "{quoted}"')
    odd = odd.replace('reading = "targets.crate.seen"\nmin = 0.5', 'reading = "targets.*.seen"\nmin = 0.99')
    pier(folder, 0.0, odd)
    code, _ = judged(folder, "--junit", "odd.xml", "--markdown", "odd.md")
    assert code == 1
    (suite,) = list(JUnitXml.fromfile(str(folder / "odd.xml")))
    shown = 'crate <b>&"\\x1b[31m|*@you*'
    assert next(iter(suite)).result[0].message.startswith(f"A1 (focal_mm 20) fails: {shown}: seen 92 %")
    minidom.parse(str(folder / "odd.xml"))
    text = (folder / "odd.md").read_text("utf-8")
    assert "\x1b" not in text
    assert "<b>" not in text
    assert "@you" not in text


def test_reports_are_the_same_bytes_again(folder: Path) -> None:
    words = ("--junit", "pier.xml", "--markdown", "pier.md")
    judged(folder, *words)
    first = listing(folder)
    judged(folder, *words)
    assert listing(folder) == first
    markdown = call("judge", "pier.study.toml", *RAYS, "--markdown", "-", cwd=folder)
    assert markdown.text == first["pier.md"].decode()
    assert markdown.text.startswith("<!-- stationpoint -->\n\n### Does the crate show?\n\n**2 of 2")
