"""The axes of a sweep: which fields may stand on them, and their values, checked one by one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from pydantic import BaseModel, ValidationError

from stationpoint.base.complaints import quoted_value, sentences, unknown_word
from stationpoint.base.words import listed
from stationpoint.study.camera_keys import LENS_KEYS, CameraFields, Light, camera_keys

AXES = ("rows", "columns", "pages")
MOST_VARIANTS = 20_000
NAMED = ("place", "viewing")  # swept by name
EVERY = "*"  # of these: all that the study has, in its order
LIGHT = {"light_yaw_deg": "yaw_deg", "light_pitch_deg": "pitch_deg"}
FIXED = ("first_person",)  # of the camera, since it says what is in the scene
SWEPT = (*(key for key in camera_keys() if key not in FIXED), *NAMED, *LIGHT)
TEXT_FIELDS = (*NAMED, "from", "aspect", "projection", "fit", "offset_by", "aspect_policy", "blocked")
ALL_IN_FRAME = "all-in-frame"
HOLDING = ("subject-scale", "subject-height", ALL_IN_FRAME)  # values of `hold` that keep something
ALONE = {"alone": True}


def unknown_field(field: str) -> str:
    """The complaint about a field that no axis knows."""
    if field in FIXED:
        return f"{field} cannot be swept: it says whether the subject is in the picture; draw two sheets"
    return unknown_word(field, SWEPT, "a field that can be swept", CameraFields.slips)


def family(field: str) -> tuple[str, ...]:
    """Fields that say the same thing as `field`, itself included: the four ways to give a lens."""
    return LENS_KEYS if field in LENS_KEYS else (field,)


def settled_axis(axis: str, given: Mapping[str, Sequence[Any]]) -> dict[str, tuple[Any, ...]]:
    """An axis with every value as its field holds it (24 as 24.0, lists as tuples).

    Raises ValueError, one line a complaint, each starting with the axis.
    """
    settled: dict[str, tuple[Any, ...]] = {}
    wrong: list[str] = []
    for field, values in given.items():
        if field not in SWEPT:
            wrong.append(f"{axis}: {unknown_field(field)}")
        elif not values:
            wrong.append(f"{axis}: {field} has no values; give at least one, or leave {field} out")
        elif len(values) > MOST_VARIANTS:
            wrong.append(f"{axis}: {field} has {len(values)} values; at most {MOST_VARIANTS} variants a call")
        else:
            settled[field] = tuple(_settled(axis, field, value, wrong) for value in values)
            if field in NAMED and EVERY in values and (len(values) > 1 or len(given) > 1):
                wrong.append(f'{axis}: {field} = "{EVERY}" is every {field}, and stands alone on its axis')
    lengths = {field: len(values) for field, values in given.items()}
    if len(set(lengths.values())) > 1:
        said = listed(f"{field} has {length}" for field, length in lengths.items())
        wrong.append(f"{axis}: fields on one axis move together and need equally many values; {said}")
    if wrong:
        raise ValueError("\n".join(wrong))
    return settled


def _settled(axis: str, field: str, value: Any, wrong: list[str]) -> Any:
    if field in NAMED:
        if not isinstance(value, str) or not value:
            wrong.append(f"{axis}: {field} is {quoted_value(value)}, must be the name of a {field}")
        return value
    model: type[BaseModel] = Light if field in LIGHT else CameraFields
    key = LIGHT.get(field, field)
    data = {"yaw_deg": 0, key: value} if model is Light else {key: value}
    try:
        made = model.model_validate(data, context=ALONE)
    except ValidationError as error:
        wrong += [line.replace(f": {key}", f": {field}", 1) for line in sentences(error, data, axis, model)]
        return value
    return getattr(made, camera_keys().get(key, key))


def sweep_rules(axes: Mapping[str, Mapping[str, Any]], hold: object) -> Iterator[str]:
    """What is wrong with the axes together, as sentences; `axes` is unchecked data."""
    seen: dict[str, tuple[str, str]] = {}
    for axis, fields in axes.items():
        for field in fields:
            first = family(field)[0]
            if first not in seen:
                seen[first] = (axis, field)
                continue
            other_axis, other = seen[first]
            if other == field:
                yield f"{field} is swept on {other_axis} and on {axis}; give it one axis"
            else:
                yield f"{other} ({other_axis}) and {field} ({axis}) are two ways to say one thing; sweep one"
    if hold in HOLDING and "view_height_m" in seen:
        yield (
            f"hold = {quoted_value(hold)} sets the view height, and view_height_m is swept; sweep "
            "something else, "
            'or use hold = "nothing"'
        )
    lens = [field for fields in axes.values() for field in fields if field in LENS_KEYS]
    if hold == ALL_IN_FRAME and "distance_m" in seen:
        yield (
            f"hold = {quoted_value(hold)} sets the distance, and distance_m is swept; sweep something else, "
            'or use hold = "nothing"'
        )
    elif hold in HOLDING and lens and "distance_m" in seen:
        yield (
            f"hold = {quoted_value(hold)} sets the distance where {lens[0]} is swept, and distance_m "
            "is swept "
            'too; sweep one of them, or use hold = "nothing"'
        )
