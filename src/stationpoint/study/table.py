"""The base of every table in a study file: frozen, no unknown keys, all complaints at once."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Mapping
from typing import Annotated, Any, ClassVar

from pydantic import (
    AfterValidator,
    BaseModel,
    ConfigDict,
    Field,
    ModelWrapValidatorHandler,
    PlainSerializer,
    Strict,
    ValidationError,
    ValidationInfo,
    ValidatorFunctionWrapHandler,
    WrapValidator,
    model_validator,
)
from pydantic_core import InitErrorDetails, PydanticCustomError

from stationpoint.base.allowed import FARTHEST_M, Said
from stationpoint.base.complaints import RULE
from stationpoint.base.words import listed

# Strict kinds: "3" is no number, true is no number, 3.5 is no whole number; 3 is a number.
# Bounds of values no camera has, so that nothing overflows on its way to a picture.
LEAST, MOST = 1e-6, 1e6


def _not_tiny(value: float) -> float:
    if 0 < value < LEAST:
        raise ValueError(f"must be at least {LEAST:f}")
    return value


def _within(most: float) -> AfterValidator:
    def is_within(value: float) -> float:
        if abs(value) > most:
            raise ValueError(f"must be from {-most:.0f} to {most:.0f}")
        return value

    return AfterValidator(is_within)


NotTiny = AfterValidator(_not_tiny)
Amount = Annotated[float, Strict()]
Number = Annotated[float, Strict(), _within(MOST)]
Coordinate = Annotated[float, Strict(), _within(FARTHEST_M)]
Positive = Annotated[float, Strict(), Field(gt=0, le=MOST), NotTiny]
NotNegative = Annotated[float, Strict(), Field(ge=0, le=MOST), NotTiny]
Share = Annotated[float, Strict(), Field(ge=0, le=1)]
Flag = Annotated[bool, Strict()]
Whole = Annotated[int, Strict()]
Vec2 = tuple[Number, Number]
Vec3 = tuple[Coordinate, Coordinate, Coordinate]
Name = Annotated[str, Field(min_length=1)]
FLOOR, TOP = "floor", "top"  # heights that the scene knows


def _spot(value: Any, handler: ValidatorFunctionWrapHandler) -> Any:
    """A point as coordinates, or in words that the scene makes coordinates of."""
    if isinstance(value, str) and value.strip():
        return value
    if isinstance(value, list | tuple) and len(value) == 3 and value[1] in (FLOOR, TOP):
        x, _, z = handler((value[0], 0.0, value[2]))
        return x, value[1], z
    return handler(value)


# Plain coordinates once the study has met its scene; before, also words: a node's name, or "floor" or
# "top" for the height.
Spot = Annotated[
    Vec3,
    WrapValidator(_spot),
    PlainSerializer(lambda value: value),
    Said('three numbers [x, y, z], [x, "floor", z], [x, "top", z] or the name of a node'),
]
Given = Mapping[str, Any]


class Table(BaseModel):
    """A table of the file.

    either: the keys of which at most one may be given. meant: keys that mean something when they
    are written, even if as by default. slips: words that people write for a key -> the key.
    """

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True, allow_inf_nan=False)
    either: ClassVar[tuple[tuple[str, ...], ...]] = ()
    meant: ClassVar[tuple[str, ...]] = ()
    slips: ClassVar[Mapping[str, str]] = {}

    def said(self) -> dict[str, Any]:
        """What the table says, as JSON's types: all that is not as by default, by its key."""
        said = self.model_dump(mode="json", by_alias=True, exclude_defaults=True)
        return said | {key: getattr(self, key) for key in self.meant if key in self.model_fields_set}

    @classmethod
    def rules(cls, given: Given) -> Iterator[str]:
        """What is wrong with several keys at once, as sentences; `given` is as read, unchecked, by
        field name, without what is not there."""
        yield from ()

    @model_validator(mode="wrap")
    @classmethod
    def _all_at_once(cls, raw: Any, handler: ModelWrapValidatorHandler[Any], info: ValidationInfo) -> Any:
        """Complaints about single keys together with those about several.

        Contexts: `{"alone": True}` leaves out the latter; `{"file": True}` knows keys only as files
        write them ("from", not "from_").
        """
        made, lines, context = None, [], info.context or {}
        try:
            made = handler(raw)
        except ValidationError as error:
            lines = [_again(details) for details in error.errors(include_url=False)]
        if isinstance(raw, Mapping) and context.get("file"):
            for name, field in cls.model_fields.items():
                if name in raw and name != (field.alias or name):
                    lines.append(InitErrorDetails(type="extra_forbidden", loc=(name,), input=raw[name]))
        if isinstance(raw, Mapping) and not context.get("alone"):
            for words in cls._broken(raw):
                rule = PydanticCustomError(RULE, "{says}", {"says": words})
                lines.append(InitErrorDetails(type=rule, loc=(), input=None))
        if lines:
            raise ValidationError.from_exception_data(cls.__name__, lines)
        return made

    @classmethod
    def _broken(cls, raw: Mapping[str, Any]) -> Iterator[str]:
        given = {}
        for name, field in cls.model_fields.items():
            value = raw.get(field.alias or name, raw.get(name))
            if value is not None:
                given[name] = value
        for keys in cls.either:
            both = [key for key in keys if key in given]
            if len(both) > 1:
                yield f"{listed(both)} cannot stand together; give one of {listed(keys, 'or')}"
        yield from cls.rules(given)


def _again(details: Any) -> InitErrorDetails:
    """A complaint as it was raised, to be raised again among others."""
    kind, context = details["type"], details.get("ctx", {})
    if kind == RULE:
        kind = PydanticCustomError(RULE, "{says}", context)
    return InitErrorDetails(type=kind, loc=details["loc"], input=details["input"], ctx=context)


def digest_of(said: Mapping[str, Any]) -> str:
    """SHA-256, hex, of JSON data in one spelling: keys sorted, no blanks, ASCII."""
    text = json.dumps(said, sort_keys=True, ensure_ascii=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def numbers(value: object, count: int | None = None) -> tuple[float, ...] | None:
    """`value` as numbers if that is what it is (and as many as `count`), for rules on unchecked data."""
    if not isinstance(value, list | tuple) or (count is not None and len(value) != count):
        return None
    if any(isinstance(piece, bool) or not isinstance(piece, int | float) for piece in value):
        return None
    try:
        return tuple(float(piece) for piece in value)
    except OverflowError:  # a whole number of hundreds of digits
        return None


def value_of(table: object, key: str) -> Any:
    """A key of a table, whether it is data or made already."""
    return table.get(key) if isinstance(table, Mapping) else getattr(table, key, None)
