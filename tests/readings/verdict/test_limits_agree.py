"""One limit, five mouths: `check`, `judge`, `sheet`, its ticket and `chart` agree on what it is about.

The scene is seen by a level orthographic camera, so that all numbers follow by hand: 10 m of view on 1080
px are 108 px a metre, on the desk's 1440 px 144; a view of 20 m halves them. Crate and lamp stand free,
"door.seen" behind a wall; at the place "aside" the lamp stands behind it too.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from cli_calls import call
from stationpoint.cli.actions import chart as work_chart
from stationpoint.readings.verdict.words import bounds_of
from stationpoint.run import pages as drawing
from stationpoint.sheet import settings
from stationpoint.sheet.chart import series as charting

SCENE = "".join(
    f'[[solid]]\nname = "{name}"\nshape = "box"\nsize = {size}\nat = {at}\n'
    for name, size, at in (
        ("crate", [1, 1, 1], [2, 0, 0]),
        ("wall", [3, 3, 0.2], [-3, -1, -2]),
        ("door", [1, 1, 1], [-3, 0, -4]),
        ("lamp", [1, 1, 1], [5, 0, 0]),
    )
)
STUDY = """
scene = "yard.toml"
[subject]
may_hide = true
name = "hopper"
at = [0, 0, 0]
[[target]]
name = "crate"
node = "crate"
[[target]]
name = "lamp"
node = "lamp"
[[target]]
name = "door.seen"
node = "door"
role = "secondary"
[[gap]]
name = "hop"
from = [0, 0, 0]
to = [0, 0, -4]
reach_m = 5
[[place]]
name = "aside"
move = { "lamp" = [-8, 0, -4] }
[camera]
projection = "orthographic"
pitch_deg = 0
distance_m = 8
aspect = "16:9"
[sweep]
columns = { view_height_m = [10, 20] }
[[viewing]]
name = "couch"
diagonal_in = 55
pixels = [1920, 1080]
eye_distance_m = 2.7
[[viewing]]
name = "desk"
diagonal_in = 27
pixels = [2560, 1440]
eye_distance_m = 0.6
"""
RAYS = ("--renderer", "rays", "--quiet", "--workers", "1")


class Told(NamedTuple):
    """What a limit that is accepted gives: in words, and for each of the two variants whether it holds
    and what binds, in words."""

    limit: str
    holds: tuple[bool, bool]
    binds: tuple[str, str]
    drawable: bool = True


def both(limit: str, holds: bool, binds: str, drawable: bool = True) -> Told:
    return Told(limit, (holds, holds), (binds, binds), drawable)


HIDDEN, FREE = "door.seen: seen 0 %, needs 90 %", "crate: seen 100 %, needs 90 %"
ACCEPTED: list[tuple[str, str, Told]] = [
    ("targets.*.seen", "min = 0.9", both("all targets: seen at least 90 %", False, HIDDEN)),
    ("targets.crate.seen", "min = 0.9", both("crate: seen at least 90 %", True, FREE)),
    ("*.crate.seen", "min = 0.9", both("crate: seen at least 90 %", True, FREE)),
    ("*.*.seen", "min = 0.9", both("all targets: seen at least 90 %", False, HIDDEN)),
    ("targets.door.seen.seen", "min = 0.9", both("door.seen: seen at least 90 %", False, HIDDEN)),
    (
        "targets.door.seen.seen",
        "max = 0.1",
        both("door.seen: seen at most 10 %", True, "door.seen: seen 0 %, at most 10 %"),
    ),
    (
        "targets.door.seen.role",
        'is = "secondary"',
        both("door.seen: role secondary", True, "door.seen: role secondary, must be secondary"),
    ),
    (
        "targets.*.seen",
        'min = 0.9\nrole = "secondary"',
        both("secondary targets: seen at least 90 %", False, HIDDEN),
    ),
    (
        "targets.lamp.seen",
        'min = 0.9\nplace = "here"',
        both("lamp: seen at least 90 % (only at here)", True, "lamp: seen 100 %, needs 90 %"),
    ),
    (
        "targets.lamp.seen",
        "min = 0.9",
        both("lamp: seen at least 90 %", False, "lamp: seen 0 %, needs 90 % (aside)"),
    ),
    (
        "targets.crate.seen",
        "min = 0",
        both("crate: seen at least 0 %", True, "crate: seen 100 %, needs 0 %"),
    ),
    (
        "targets.crate.size_px",
        "min = 100",
        Told(
            "crate: size at least 100 px",
            (True, False),
            (
                "crate: size 108 px by 108 px, needs 100 px (couch)",
                "crate: size 54 px by 54 px, needs 100 px (couch)",
            ),
            False,
        ),
    ),
    (
        "targets.crate.size_px.desk",
        "max = 100",
        Told(
            "crate: size at most 100 px (only for desk)",
            (False, True),
            (
                "crate: size 144 px by 144 px, at most 100 px (desk)",
                "crate: size 72 px by 72 px, at most 100 px (desk)",
            ),
            False,
        ),
    ),
    (
        "targets.crate.size_px.*",
        'max = 100\nviewing = "couch"',
        Told(
            "crate: size at most 100 px (only for couch)",
            (False, True),
            (
                "crate: size 108 px by 108 px, at most 100 px",
                "crate: size 54 px by 54 px, at most 100 px",
            ),
            False,
        ),
    ),
    (
        "viewing.desk.picture_pixels",
        "min = 1440",
        both(
            "desk: picture pixels at least 1440 px",
            True,
            "desk: picture pixels 2560 px by 1440 px, needs 1440 px",
            False,
        ),
    ),
    (
        "gaps.*.true_span_m",
        "max = 3.999",
        both("all gaps: true span at most 3.999 m", False, "hop: true span 4 m, at most 3.999 m"),
    ),
    (
        "gaps.hop.true_span_m",
        "min = 4\nmax = 4",
        both("hop: true span exactly 4 m", True, "hop: true span 4 m, needs 4 m"),
    ),
    ("gaps.hop.reachable", "is = true", both("hop: reachable", True, "hop: reachable")),
    ("gaps.*.reachable", "not = true", both("all gaps: not reachable", False, "hop: reachable, not allowed")),
    (
        "axes.x.px_per_m",
        "min = 80",
        Told(
            "x: scale at least 80 px a metre",
            (True, False),
            ("x: scale 108 px a metre, needs 80 px a metre", "x: scale 54 px a metre, needs 80 px a metre"),
        ),
    ),
    (
        "axes.x.px_per_m",
        "is = 108",
        Told(
            "x: scale exactly 108 px a metre",
            (True, False),
            (
                "x: scale 108 px a metre, must be 108 px a metre",
                "x: scale 54 px a metre, must be 108 px a metre",
            ),
        ),
    ),
    (
        "axes.x.reads",
        'one_of = ["place", "size only"]',
        both("x: reads place or size only", True, "x: reads place, must be place or size only"),
    ),
    # level and parallel: away is drawn as a point, so nothing swaps with it
    (
        "pairs.up-away.swap_m",
        "max = 1",
        both(
            "up and away: look-alike length at most 1 m",
            False,
            "up and away: look-alike length could not be measured",
        ),
    ),
    (
        "pairs.up-away.swap_m",
        'max = 1\nif_absent = "skip"',
        both("up and away: look-alike length at most 1 m", True, ""),
    ),
    (
        "false_contacts",
        "max = 0",
        both("false contacts at most 0", True, "false contacts 0, at most 0", False),
    ),
    (
        "targets.door.seen.seen",
        'min = 0.9\nlevel = "should"',
        both("door.seen: seen at least 90 % (should)", True, ""),
    ),
]
REFUSED: list[tuple[str, str, str]] = [
    ("*.sean", "min = 0.5", "did you mean `targets.*.seen`?"),
    ("*.se*n", "min = 0.5", "did you mean"),
    ("targets.cra*.seen", "min = 0.5", "did you mean `targets.crate.seen`?"),
    ("targets.crat?.seen", "min = 0.5", "did you mean `targets.crate.seen`?"),
    ("targets.crate.sean", "min = 0.5", "did you mean"),
    ("targets.crat.seen", "min = 0.5", "did you mean `crate`?"),
    ("targets.door.seen", "min = 0.5", "`door` is not a name under targets"),
    ("framing.stick_error_deg", "max = 10", "did you mean `framing.stick_error_deg.*`?"),
    ("targets.crate.size_px.sofa", "min = 9", "`sofa` is not a name under viewing"),
    ("targets.*.seen", "min = 90", "did you mean 0.9, which is 90 %?"),
    ("targets.*.seen", 'min = 0.5\nrole = "tertiary"', "it is about no tertiary target"),
    ("targets.*.seen", 'min = 0.5\nplace = "nowhere"', "`nowhere` is not a place of the study"),
    ("targets.crate.size_px.desk", 'min = 9\nviewing = "couch"', "it names another viewing"),
    ("targets.*.role", "min = 1", "is a word"),
    ("targets.*.hidden_by", "max = 0.5", "no limit can bound it"),
    ("axes.x.reads", 'is = "places"', "did you mean `place`?"),
    ("gaps.*.reachable", 'not = "no"', "is true or false"),
]


@pytest.fixture
def heard(monkeypatch: pytest.MonkeyPatch) -> Iterator[dict[str, Any]]:
    """What is handed on to be drawn: flags, the header's table, the chart."""
    kept: dict[str, Any] = {}
    compose, common, chart_of = drawing.compose_pages, settings.common_settings, charting.chart_of

    def composing(*given: Any, **named: Any) -> Any:
        kept["flags"] = named["verdicts"]
        return compose(*given, **named)

    def charted(*given: Any) -> Any:
        kept["chart"] = chart_of(*given)
        return kept["chart"]

    def table(*given: Any) -> Any:
        kept["header"] = dict(common(*given))
        return list(kept["header"].items())

    monkeypatch.setattr(drawing, "compose_pages", composing)
    monkeypatch.setattr("stationpoint.sheet.compose.common_settings", table)
    monkeypatch.setattr(work_chart, "chart_of", charted)
    return kept


def written(folder: Path, reading: str, test: str) -> None:
    (folder / "yard.toml").write_text(SCENE, "utf-8")
    limit = f"[[limit]]\nreading = {json.dumps(reading)}\n{test}\n"
    (folder / "yard.study.toml").write_text(STUDY + limit, "utf-8")


def test_there_are_twenty_of_each_kind_that_matters() -> None:
    assert len(ACCEPTED) + len(REFUSED) >= 40


@pytest.mark.parametrize(("reading", "test", "told"), ACCEPTED)
def test_a_limit_that_is_accepted_is_one_limit_everywhere(
    reading: str, test: str, told: Told, tmp_path: Path, heard: dict[str, Any]
) -> None:
    written(tmp_path, reading, test)
    checked = call("check", "yard.study.toml", cwd=tmp_path)
    assert checked.code == 0, checked.err
    assert f"Brief      {told.limit}\n" in checked.text

    judged = call("judge", "yard.study.toml", *RAYS, "--every", cwd=tmp_path)
    assert judged.code == (0 if all(told.holds) else 1), judged.err
    for label, holds, binds in zip(("A1", "A2"), told.holds, told.binds, strict=True):
        (line,) = [
            line for line in judged.text.splitlines() if line.startswith(label) and " should: " not in line
        ][:1]
        assert (" holds" if holds else " fails: ") in line
        assert binds in line

    call("sheet", "yard.study.toml", *RAYS, "--cell-width", "320", cwd=tmp_path)
    verdicts = json.loads((tmp_path / "yard.json").read_bytes())["verdicts"]
    assert tuple(verdict["holds"] for verdict in verdicts) == told.holds
    assert heard["header"]["Brief"] == told.limit
    ticket = (tmp_path / "yard.txt").read_text("utf-8")
    for label, holds, binds in zip(("A1", "A2"), told.holds, told.binds, strict=True):
        flag = heard["flags"][label]
        assert flag.kind == ("holds" if holds else "fails")
        said = flag.limit.removeprefix("nearest limit: ")  # after what is wrong, whose it is has been said
        assert said == (binds.partition(": ")[2] if flag.wrong else binds)
        (line,) = [line for line in ticket.splitlines() if line.startswith(f"{label}: ")]
        assert ("; holds" if holds else f"; fails: {flag.words}") in line

    charted = call("chart", "yard.study.toml", *RAYS, "--reading", reading, cwd=tmp_path)
    assert charted.code == (0 if told.drawable else 2), charted.err
    if told.drawable:
        chart = heard["chart"]
        ((limit, whose),) = chart.limits
        assert whose.split(" (")[0] == told.limit.partition(":")[0]
        assert all(bound.words in told.limit for bound in bounds_of(limit, chart.unit))


@pytest.mark.parametrize(("reading", "test", "words"), REFUSED)
def test_a_limit_that_is_refused_is_refused_everywhere_in_one_sentence(
    reading: str, test: str, words: str, tmp_path: Path
) -> None:
    written(tmp_path, reading, test)
    said = set()
    for command in (
        ("check", "yard.study.toml"),
        ("judge", "yard.study.toml", *RAYS),
        ("sheet", "yard.study.toml", *RAYS),
        ("measure", "yard.study.toml", *RAYS),
        ("chart", "yard.study.toml", *RAYS, "--reading", "targets.crate.seen"),
    ):
        done = call(*command, cwd=tmp_path)
        assert done.code == 2, command
        assert words in done.err
        said.add(done.err)
    assert len(said) == 1
    assert sorted(path.name for path in tmp_path.iterdir()) == ["yard.study.toml", "yard.toml"]
