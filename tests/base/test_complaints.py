"""Sentences from pydantic's errors, on small models of their own."""

from __future__ import annotations

import re
from typing import Annotated, Literal

import pytest
from pydantic import BaseModel, ConfigDict, Field, Strict, ValidationError, model_validator

from stationpoint.base.complaints import entry_name, quoted_value, sentences, unknown_word


class Part(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


class Repeat(Part):
    count: Annotated[int, Field(ge=1, le=100)]


class Box(Part):
    name: str = ""
    shape: Literal["box", "ramp"]
    size: tuple[float, float, float]
    fit: Literal["width", "height", "diagonal"] = "width"
    repeat: Repeat | None = None

    @model_validator(mode="after")
    def _not_flat(self) -> Box:
        if not all(self.size):
            raise ValueError("a box needs three sizes\nnone of them zero")
        return self


class Ball(Part):
    name: str = ""
    shape: Literal["ball"]
    radius_m: Annotated[float, Strict(), Field(gt=0, le=1e6)]
    axis: Literal["x", "y", "z"] | tuple[float, float, float] = "y"


class World(Part):
    title: Annotated[str, Field(min_length=1)] = "world"
    solid: tuple[Annotated[Box | Ball, Field(discriminator="shape")], ...] = ()
    ground: Repeat | None = None
    tags: tuple[str, ...] = ()
    level: bool = True
    moves: dict[str, tuple[float, float, float]] = Field(default_factory=dict)


def said(**data: object) -> list[str]:
    with pytest.raises(ValidationError) as caught:
        World.model_validate(data)
    return sentences(caught.value, data, "yard.toml", World)


def ball(**keys: object) -> dict[str, object]:
    return {"name": "b", "shape": "ball", "radius_m": 1, **keys}


def test_number_below_its_bound_is_said_with_found_and_bound() -> None:
    assert said(solid=[ball(radius_m=-1)]) == ['yard.toml: solid "b": radius_m is -1, must be above 0.']
    assert said(solid=[ball(radius_m=2e6)]) == [
        'yard.toml: solid "b": radius_m is 2000000, must be at most 1000000.'
    ]


@pytest.mark.parametrize(("value", "words"), [(float("nan"), "nan"), (float("inf"), "inf")])
def test_number_that_is_not_finite_is_said(value: float, words: str) -> None:
    assert said(solid=[ball(radius_m=value)]) == [
        f'yard.toml: solid "b": radius_m is {words}, must be a finite number above 0 and at most 1000000.'
    ]
    assert said(moves={"a": [0, value, 1]}) == [
        f'yard.toml: moves "a" is [0, {words}, 1], must be three finite numbers [x, y, z].'
    ]


@pytest.mark.parametrize("value", ["3", True, [3]])
def test_wrong_kind_is_said_with_what_is_allowed(value: object) -> None:
    assert said(solid=[ball(radius_m=value)]) == [
        f'yard.toml: solid "b": radius_m is {quoted_value(value)}, '
        "must be a number above 0 and at most 1000000."
    ]


def test_point_of_two_or_four_numbers_is_said_whole() -> None:
    for point in ([1, 2], [1, 2, 3, 4], [1, "a", 3], 7):
        assert said(solid=[{"shape": "box", "size": point}]) == [
            f"yard.toml: solid 1: size is {quoted_value(point)}, must be three numbers [x, y, z]."
        ]


def test_all_three_choices_are_named() -> None:
    box = {"shape": "box", "size": [1, 1, 1], "fit": "depth"}
    assert said(solid=[box]) == [
        'yard.toml: solid 1: fit is "depth", must be "width", "height" or "diagonal".'
    ]
    assert said(solid=[ball(axis="up")]) == [
        'yard.toml: solid "b": axis is "up", must be "x", "y", "z" or three numbers [x, y, z].'
    ]


def test_wrong_shape_of_a_solid_names_every_shape() -> None:
    assert said(solid=[{"name": "q", "shape": "bx"}]) == [
        'yard.toml: solid "q": shape is "bx", must be "box", "ramp" or "ball".'
    ]
    assert said(solid=[{"name": "q"}]) == [
        'yard.toml: solid "q": shape is missing, must be "box", "ramp" or "ball".'
    ]


def test_unknown_key_is_said_with_the_nearest_known_one() -> None:
    assert said(solid=[ball(radus_m=2)]) == [
        'yard.toml: solid "b": `radus_m` is not a key here; did you mean `radius_m`?'
    ]


def test_unknown_key_with_none_near_is_said_with_all_that_are_known() -> None:
    assert said(ground={"count": 1, "zzz": 2}) == [
        "yard.toml: ground: `zzz` is not a key here; known: `count`."
    ]


def test_key_of_another_table_is_sent_there() -> None:
    assert said(count=3) == ["yard.toml: `count` is not a key here; it belongs in [ground]."]
    assert said(ground={"count": 1, "moves": {}}) == [
        "yard.toml: ground: `moves` is not a key here; it belongs at the top of the file, above all tables."
    ]


def test_missing_key_is_said_with_what_it_must_be() -> None:
    assert said(ground={}) == ["yard.toml: ground: count is missing, must be a whole number from 1 to 100."]


def test_one_table_for_a_list_of_tables_is_said_with_its_heading() -> None:
    assert said(solid=ball()) == ["yard.toml: solid is one table, must be a list of tables: write [[solid]]."]
    assert said(solid=[3]) == ["yard.toml: solid 1 is 3, must be a table of keys."]
    assert said(ground=3) == ["yard.toml: ground is 3, must be a table of keys."]


def test_item_of_a_list_is_counted_from_one() -> None:
    assert said(tags=["a", 3]) == ["yard.toml: tags, item 2, is 3, must be text."]
    assert said(tags="a") == ['yard.toml: tags is "a", must be a list of texts.']


def test_empty_text_and_wrong_switch_are_said() -> None:
    assert said(title="", level=[]) == [
        'yard.toml: title is "", must be text, not empty.',
        "yard.toml: level is [], must be true or false.",
    ]


def test_rule_of_several_keys_gives_a_sentence_a_line() -> None:
    assert said(solid=[{"shape": "box", "size": [0, 1, 1]}]) == [
        "yard.toml: solid 1: a box needs three sizes.",
        "yard.toml: solid 1: none of them zero.",
    ]


def test_all_complaints_come_at_once_and_none_in_the_words_of_a_library() -> None:
    lines = said(
        titel="x",
        title=3,
        solid=[
            ball(radius_m=0, axis=4),
            {"shape": "box", "size": [1], "repeat": {"count": 0, "step": 1}},
            {},
        ],
        ground=[],
        moves={"a": [1], "b": "c"},
    )
    assert len(lines) == 11
    for line in lines:
        assert line.startswith("yard.toml: ")
        assert line.endswith((".", "?"))
        assert not re.search(r"[Ii]nput|[Ee]xtra|[Vv]alid|pydantic|[Ff]ield|tuple|dict|Ball|Box|Repeat", line)


def test_complaint_about_an_option_names_the_option() -> None:
    data = {"ground": {"count": 0}}
    with pytest.raises(ValidationError) as caught:
        World.model_validate(data)
    assert sentences(caught.value, data, "yard.toml", World, {("ground", "count"): "--set"}) == [
        "--set: ground: count is 0, must be at least 1."
    ]


def test_entry_is_called_by_name_then_file_then_number() -> None:
    assert entry_name("mesh", 1, {"file": "level.glb"}) == 'mesh "level.glb"'
    assert entry_name("gap", 1, {"name": 'a "b"'}) == 'gap "a \\"b\\""'
    assert entry_name("gap", 1, {"name": " "}) == "gap 2"


def test_long_values_are_cut_and_odd_letters_escaped() -> None:
    assert len(quoted_value("x" * 1000)) == 60
    assert quoted_value([1.0, True, "a", {"b": 1}]) == '[1, true, "a", a table]'
    assert quoted_value("a\nb") == '"a\\nb"'
    assert unknown_word("a\nb", ["zz"], "a key here") == "`a\\nb` is not a key here; known: `zz`."


def test_many_known_words_are_not_all_listed() -> None:
    words = [f"w{k}" for k in range(30)]
    assert unknown_word("???", words, "a node").endswith("`w23` and 6 more.")
