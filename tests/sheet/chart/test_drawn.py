"""Charts as drawn, read back from the SVG: where words stand, what is shaded, which line is which."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from itertools import combinations
from typing import NamedTuple

import pytest
from PIL import ImageFont

from stationpoint.base.look import SHADE
from stationpoint.ink import font_files
from stationpoint.run.prepare import prepare_study
from stationpoint.run.sweep import Wants, sweep_variants
from stationpoint.sheet.chart.names import End, name_rows, spread
from stationpoint.sheet.chart.panels import panels_of
from stationpoint.sheet.chart.plot import _style, draw_chart
from stationpoint.sheet.chart.series import Chart, Series, chart_of
from stationpoint.study.file import study_from_text
from stationpoint.study.models import Limit

SVG = "{http://www.w3.org/2000/svg}"
WEIGHTS = {"400": "Regular", "600": "Semibold", "700": "Bold"}
SHADED = "#{:02x}{:02x}{:02x}".format(*SHADE)


class Word(NamedTuple):
    """Words of an SVG and their box: left, top, right, bottom; measured by FreeType, ink that may touch."""

    words: str
    box: tuple[float, float, float, float]


def words_of(svg: bytes) -> list[Word]:
    found = []
    for one in ET.fromstring(svg).iter(f"{SVG}text"):
        style, words = one.get("style", ""), one.text or ""
        if one.get("x") is None:  # the one that reads upwards
            continue
        size = float(re.search(r"font-size: ([\d.]+)px", style)[1])
        weight = WEIGHTS[(re.search(r"font-weight: (\d+)", style) or [0, "400"])[1]]
        (file,) = (file for file in font_files() if file.name == f"OpenSans-{weight}.ttf")
        wide = ImageFont.truetype(str(file), 1000).getlength(words) * size / 1000
        anchor = re.search(r"text-anchor: (\w+)", style)[1]
        x, y = float(one.get("x")), float(one.get("y"))
        x -= {"start": 0.0, "middle": wide / 2, "end": wide}[anchor]
        found.append(Word(words, (x, y - 0.72 * size, x + wide, y + 0.1 * size)))
    return found


def overlapping(svg: bytes) -> list[tuple[str, str]]:
    words = words_of(svg)
    assert len(words) > 5
    return [
        (a.words, b.words)
        for a, b in combinations(words, 2)
        if a.box[0] < b.box[2] and b.box[0] < a.box[2] and a.box[1] < b.box[3] and b.box[1] < a.box[3]
    ]


def shaded(svg: bytes) -> list[tuple[float, float, float, float]]:
    """The boxes that are shaded as failing."""
    found = []
    for one in ET.fromstring(svg).iter(f"{SVG}path"):
        if f"fill: {SHADED}" in one.get("style", ""):
            numbers = [float(number) for number in re.findall(r"-?[\d.]+", one.get("d", ""))]
            found.append((min(numbers[::2]), min(numbers[1::2]), max(numbers[::2]), max(numbers[1::2])))
    return found


def chart(*lines: Series, **changes) -> Chart:
    given = {
        "title": "Which?",
        "field": "focal_mm",
        "settings": (24, 48, 96),
        "says": "seen",
        "unit": "share",
    }
    return Chart(**(given | {"limits": (), "foot": "study x"} | changes), lines=lines)


def parts(**words: str) -> tuple[tuple[str, str], ...]:
    return tuple(words.items())


def at_least(least: float) -> tuple[Limit, str]:
    return Limit(reading="targets.*.seen", min=least), "crate"


def crowd(count: int) -> list[Series]:
    names = [(f"crate {k // 2}", ("perspective", "orthographic")[k % 2]) for k in range(count)]
    return [
        Series("", (0.9 - 0.05 * k, 0.5, 0.5 + 0.004 * k), parts(projection=rest, whose=head))
        for k, (head, rest) in enumerate(names)
    ]


def test_a_lens_stands_by_its_logarithm_at_the_swept_values():
    lens = {
        word.words: word.box for word in words_of(draw_chart(chart(Series("a", (0.1, 0.5, 0.9))), ".svg"))
    }
    middles = [(lens[name][0] + lens[name][2]) / 2 for name in ("24", "48", "96")]
    assert middles[1] - middles[0] == pytest.approx(middles[2] - middles[1], abs=0.1)  # doubled, and doubled
    made = chart(Series("a", (0.1, 0.5, 0.9)), field="pitch_deg", settings=(10, 20, 40))
    pitch = {word.words: word.box for word in words_of(draw_chart(made, ".svg"))}
    middles = [(pitch[name][0] + pitch[name][2]) / 2 for name in ("10", "20", "40")]
    assert middles[2] - middles[1] == pytest.approx(2 * (middles[1] - middles[0]), abs=0.1)


@pytest.mark.parametrize("count", [2, 6, 12, 24])
def test_no_words_stand_over_others_however_many_lines_end_at_one_place(count):
    assert not overlapping(draw_chart(chart(*crowd(count)), ".svg"))


def test_names_that_share_a_word_say_it_once():
    words = [word.words for word in words_of(draw_chart(chart(*crowd(2)), ".svg"))]
    assert words.count("crate 0") == 1
    assert {"perspective", "orthographic"} <= set(words)
    assert not [word for word in words if ", " in word and word != "focal length, mm" and word != "seen, %"]


def test_names_are_pushed_apart_as_little_as_can_be():
    assert spread([10, 10], [4, 4], 0, 100) == [8, 12]  # the mean stays
    assert spread([10, 50], [4, 4], 0, 100) == [10, 50]
    assert spread([99, 99], [4, 4], 0, 100) == [94, 98]  # within the panel
    rows, size = name_rows([End(0, 10, [("a", "")], 0), End(0, 10, [("b", "")], 1)], 20, 100, 0, 100)
    assert rows[1].y - rows[0].y >= size


@pytest.mark.parametrize("count", [1, 4, 9, 12])
def test_no_two_lines_look_alike_without_their_colour(count):
    singles = [Series(str(k), (0.1 * k, 0.5, 0.2), parts(whose=str(k))) for k in range(count)]
    for lines in (singles, crowd(count)):
        ((panel,), _) = panels_of(chart(*lines))
        assert len({_style(panel, k) for k in range(len(panel.lines))}) == count


def test_a_limit_on_all_lines_is_shaded_across_to_the_end_of_the_panel():
    svg = draw_chart(chart(Series("a", (0.1, 0.5, 0.9), limits=(0,)), limits=(at_least(0.6),)), ".svg")
    (box,) = shaded(svg)
    marks = {word.words: word.box for word in words_of(svg)}
    middle = (marks["60 %"][1] + marks["60 %"][3]) / 2
    assert box[1] == pytest.approx(middle, abs=2)  # from 60 % down
    assert box[3] > marks["0 %"][1]
    assert box[0] < marks["24"][0]
    assert box[2] > marks["96"][2]


@pytest.mark.parametrize(
    ("test", "count"), [({"min": 0.6, "max": 0.6}, 2), ({"is": 0.6}, 2), ({"not": 0.6}, 0), ({"max": 0.6}, 1)]
)
def test_a_limit_shades_the_sides_that_fail_it(test, count):
    limit = Limit.model_validate({"reading": "targets.*.seen", **test})
    made = chart(Series("a", (0.1, 0.5, 0.9), limits=(0,)), limits=((limit, "a"),))
    assert len(shaded(draw_chart(made, ".svg"))) == count


def test_a_limit_on_one_of_two_targets_shades_nothing_of_the_others_and_fills_the_points_that_fail():
    one = Series("", (0.9, 0.7, 0.1), parts(whose="crate"), (0,), (False, False, True))
    other = Series("", (0.5, 0.4, 0.3), parts(whose="ledge"))
    svg = draw_chart(chart(one, other, limits=(at_least(0.6),)), ".svg")
    assert not shaded(svg)
    words = {word.words: word.box for word in words_of(svg)}
    assert "crate: at least 60 %" in words
    assert "A filled point fails a limit. A chart screens cameras; it does not replace players." in words


def test_over_places_the_worst_is_bold_and_named_by_its_place_where_that_changes():
    lines = [
        Series("", (0.9, 0.2, 0.8), parts(place="stair"), (0,), (False, True, False)),
        Series("", (0.7, 0.6, 0.9), parts(place="gate"), (0,), (False, False, False)),
    ]
    made = chart(*lines, limits=(at_least(0.5),))
    ((panel,), _) = panels_of(made)
    assert [line.weight for line in panel.lines] == ["thin", "thin", "bold"]
    worst = panel.lines[-1]
    assert (worst.head, worst.values) == ("worst of 2 places", (0.7, 0.2, 0.8))  # the least of each column
    assert worst.at == ("gate", "stair", "stair")
    assert worst.fails == (False, True, False)
    words = [word.words for word in words_of(draw_chart(made, ".svg"))]
    assert words.count("gate") == 2  # at its line's end, and where it is the worst
    assert words.count("stair") == 2


def test_the_worst_of_a_limit_from_above_is_the_greatest_and_of_words_the_lowest():
    most = (Limit(reading="targets.*.seen", max=0.5), "crate")
    numbers = [Series("", (0.1, 0.2, 0.9), parts(place=name), (0,)) for name in "ab"]
    numbers[1] = Series("", (0.3, 0.1, 0.4), parts(place="b"), (0,))
    ((panel,), _) = panels_of(chart(*numbers, limits=(most,)))
    assert panel.lines[-1].values == (0.3, 0.2, 0.9)
    said = [
        Series("", words, parts(place=name))
        for name, words in (("a", ("sure", "lies")), ("b", ("sure",) * 2))
    ]
    ((panel,), _) = panels_of(chart(*said, settings=(24, 48), unit=""))
    assert panel.lines[-1].values == ("sure", "lies")


def test_more_than_twelve_lines_are_panels_by_target_and_what_finds_no_room_is_told():
    lines = [
        Series("", (0.1, 0.2, 0.3), parts(pitch_deg=f"pitch {k}°", whose=f"crate {n}"))
        for n in range(15)
        for k in range(3)
    ]
    panels, more = panels_of(chart(*lines))
    assert [panel.title for panel in panels] == [f"crate {n}" for n in range(12)]
    assert more == ["crate 12", "crate 13", "crate 14"]
    svg = draw_chart(chart(*lines), ".svg")
    assert not overlapping(svg)
    assert any("And 3 more: crate 12, crate 13 and crate 14." in word.words for word in words_of(svg))


def test_amounts_are_in_words_and_no_prime_stands_for_arcmin():
    words = [
        word.words
        for word in words_of(draw_chart(chart(Series("a", (414.0, 200.0, 90.0)), unit="'"), ".svg"))
    ]
    assert "seen, arcmin" in words
    assert not [word for word in words if "'" in word or "\u2032" in word]


def test_a_study_without_a_title_is_named_by_what_is_charted():
    words = [
        word.words for word in words_of(draw_chart(chart(Series("a", (0.1, 0.5, 0.9)), title=""), ".svg"))
    ]
    assert "seen against focal length" in words


def test_which_points_fail_and_which_lines_a_limit_is_about_come_from_the_brief(tmp_path):
    (tmp_path / "yard.toml").write_text("[ground]\nsize = [40, 40]\n")
    study = study_from_text(
        """
scene = "yard.toml"
[subject]
at = [0, 0, 0]
[[target]]
name = "near"
at = [0, 0, -4]
[[target]]
name = "far"
at = [0, 0, -9]
[camera]
distance_m = 8
pitch_deg = 0
[sweep]
columns = { distance_m = [8, 12] }
[[limit]]
reading = "targets.near.depth_m"
min = 14
""",
        "made",
    )
    results = sweep_variants(
        prepare_study(study, tmp_path), Wants(picture=False, only=frozenset({"positions"})), "rays"
    )
    made = chart_of(results, study, "targets.*.depth_m", None, "")
    # Level, so that depth is the distance and what lies beyond the subject: 8 + 4, 12 + 4, 8 + 9, 12 + 9.
    assert [line.values for line in made.lines] == [(12.0, 16.0), (17.0, 21.0)]
    assert [line.limits for line in made.lines] == [(0,), ()]
    assert [line.fails for line in made.lines] == [(True, False), (False, False)]
