"""The sweep: axes -> variants, labels, keys, pages. No scene, no optics."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from pydantic import BaseModel, ValidationError

from stationpoint.base.complaints import quoted_value, sentences
from stationpoint.base.errors import StudyWrong
from stationpoint.base.words import counted
from stationpoint.study.axes import AXES, EVERY, LIGHT, MOST_VARIANTS, NAMED, family
from stationpoint.study.camera_keys import LENS_KEYS, CameraFields, Light
from stationpoint.study.models import Study
from stationpoint.study.options import OptionEnd
from stationpoint.study.table import digest_of

KEY_DIGITS = 6
MOST_COMPLAINTS = 20
# What `hold` makes up for, or makes up with, and the aspect, which follows the study's own by its
# policy; changes of other fields are in the base.
HELD_FIELDS = (
    *LENS_KEYS,
    *("projection", "view_height_m", "gate_mm", "fit", "oblique_ratio", "oblique_angle_deg", "distance_m"),
    "aspect",
)

Pair = tuple[str, Any]
Step = tuple[Pair, ...]


@dataclass(frozen=True, slots=True)
class Variant:
    """One camera set-up of the sweep.

    label: "B3", or "2-B3" when there are pages. key: 6 hex digits made from its settings.
    page, row, column: counted from 0. changes: (field, value) pairs as swept, rows first.
    camera: the study's with the changes applied. place, viewing: names, where these are swept.
    light: where that is swept or given. base: the study's own camera with all changes but those of lens,
    projection, distance and aspect: `hold` compares with it, and its aspect is the study's own picture's.
    option: where it is as players may set it, at one end of a range.
    """

    label: str
    key: str
    page: int
    row: int
    column: int
    changes: tuple[tuple[str, Any], ...]
    camera: CameraFields
    base: CameraFields
    hold: str = "nothing"
    place: str | None = None
    viewing: str | None = None
    light: Light | None = None
    option: OptionEnd | None = None


@dataclass(frozen=True, slots=True)
class AxisHeadings:
    """What stands at each row, column and page: (field, value) pairs; none where nothing is swept."""

    rows: tuple[Step, ...]
    columns: tuple[Step, ...]
    pages: tuple[Step, ...]

    @property
    def count(self) -> int:
        """How many variants there are."""
        return len(self.rows) * len(self.columns) * len(self.pages)


def axis_headings(study: Study) -> AxisHeadings:
    """The steps of each axis; an axis that sweeps nothing has one step with no pairs."""
    return AxisHeadings(_steps(study.sweep.rows), _steps(study.sweep.columns), _steps(study.sweep.pages))


def expand(study: Study) -> tuple[Variant, ...]:
    """All variants of the sweep, page by page, row by row.

    Raises StudyWrong where there are more than MOST_VARIANTS, or where a variant's fields do not
    stand together.
    """
    heads = axis_headings(study)
    if heads.count > MOST_VARIANTS:
        raise StudyWrong(
            f"sweep: {len(heads.rows)} rows × {len(heads.columns)} columns × "
            f"{counted(len(heads.pages), 'page')} make {heads.count} variants, "
            f"at most {MOST_VARIANTS} a call; take values off an axis."
        )
    made: list[tuple[Variant, str]] = []
    wrong: dict[str, str] = {}
    bases: dict[str, CameraFields] = {}
    for spot in _spots(study, heads):
        try:
            variant = _filled(spot, study, bases)
        except ValidationError as error:
            data = {**_given(study.camera), **dict(spot.changes)}
            for line in sentences(error, data, "", CameraFields):
                wrong.setdefault(line, f"sweep: variant {_said(spot)}{line}")
        else:
            made.append((variant, settings_digest(variant)))
    if wrong:
        raise StudyWrong("\n".join(list(wrong.values())[:MOST_COMPLAINTS]))
    keys = short_keys([digest for _, digest in made])
    return tuple(replace(variant, key=keys[digest]) for variant, digest in made)


def with_every_name(study: Study) -> Study:
    """The study with an axis of every place or viewing as the list of their names."""
    names = {
        "place": tuple(place.name for place in study.places),
        "viewing": tuple(viewing.name for viewing in study.viewings),
    }
    meant: dict[str, dict[str, tuple[Any, ...]]] = {}
    for axis in AXES:
        for field, values in getattr(study.sweep, axis).items():
            if field in NAMED and values == (EVERY,):
                meant[axis] = {field: names[field]}
    return study.model_copy(update={"sweep": study.sweep.model_copy(update=meant)}) if meant else study


def at_options(variant: Variant, study: Study, solved: Mapping[str, Any]) -> Iterator[Variant]:
    """A variant as players may set it: at each end of the study's options that changes anything.

    solved: the lens, distance and view height that `hold` gave it, by their keys: players change one thing,
    and the game holds nothing then.
    """
    own = {"focal_mm"} if any(field in LENS_KEYS for field, _ in variant.changes) else set[str]()
    for end in study.options.ends:
        changed = end.changes(variant.camera)
        if changed is None:
            continue
        held = {} if variant.hold == "nothing" else solved
        kept = {key: value for key, value in held.items() if value is not None and key not in own}
        camera = replaced(replaced(variant.camera, kept), changed)
        yield replace(variant, camera=camera, hold="nothing", option=end)


def row_letters(row: int) -> str:
    """A, B, ... Z, AA, AB, ...: row_letters(27) is "AB"."""
    letters = ""
    row += 1
    while row:
        row, letter = divmod(row - 1, 26)
        letters = chr(ord("A") + letter) + letters
    return letters


def _steps(axis: Mapping[str, Sequence[Any]]) -> tuple[Step, ...]:
    if not axis:
        return ((),)
    return tuple(tuple(zip(axis, values, strict=True)) for values in zip(*axis.values(), strict=True))


def _spots(study: Study, heads: AxisHeadings) -> Iterator[Variant]:
    """Every variant with its label and changes, its camera still the study's own."""
    for page, page_step in enumerate(heads.pages):
        prefix = f"{page + 1}-" if len(heads.pages) > 1 else ""
        for row, row_step in enumerate(heads.rows):
            for column, column_step in enumerate(heads.columns):
                label = f"{prefix}{row_letters(row)}{column + 1}"
                changes = row_step + column_step + page_step
                yield Variant(label, "", page, row, column, changes, study.camera, study.camera)


def _filled(spot: Variant, study: Study, bases: dict[str, CameraFields]) -> Variant:
    """The variant with its changes applied: camera, base, place, viewing and light. bases: those made so
    far, by their changes, since many variants share one."""
    changes = dict(spot.changes)
    camera = {k: v for k, v in changes.items() if k not in LIGHT and k not in NAMED}
    held = {k: v for k, v in camera.items() if k not in HELD_FIELDS}
    light = {LIGHT[k]: v for k, v in changes.items() if k in LIGHT}
    changed = _changed_camera(study.camera, camera)
    made = repr(held)
    if made not in bases:
        bases[made] = changed if held == camera else _changed_camera(study.camera, held)
    return replace(
        spot,
        camera=changed,
        base=bases[made],
        hold=study.sweep.hold,
        place=changes.get("place"),
        viewing=changes.get("viewing"),
        light=_changed_light(study.light, light),
    )


def _changed_camera(camera: CameraFields, changes: Mapping[str, Any]) -> CameraFields:
    """The camera with the changes, checked again; a lens field replaces the other three."""
    if not changes:
        return camera
    replaced = {other for field in changes for other in family(field)}
    kept = {k: v for k, v in _given(camera).items() if k not in replaced}
    return CameraFields.model_validate({**kept, **changes})


def replaced(camera: CameraFields, changes: Mapping[str, Any]) -> CameraFields:
    """The camera with changes that have been checked already; a lens field replaces the other three."""
    others = {other: None for field in changes for other in family(field)}
    return camera.model_copy(update=others | dict(changes))


def _changed_light(light: Light | None, changes: Mapping[str, Any]) -> Light | None:
    if not changes:
        return light
    kept = _given(light) if light else {"yaw_deg": 0.0}
    return Light.model_validate({**kept, **changes})


def _given(table: BaseModel) -> dict[str, Any]:
    return table.model_dump(by_alias=True, exclude_unset=True)


def _said(spot: Variant) -> str:
    pairs = ", ".join(f"{field} {quoted_value(value)}" for field, value in spot.changes)
    return f"{spot.label} ({pairs})" if pairs else spot.label


def settings_digest(variant: Variant) -> str:
    """SHA-256 of all that makes the variant's picture, whatever else is in the sweep."""
    settings: dict[str, Any] = {"camera": variant.camera.said()}
    if variant.hold != "nothing":
        settings |= {"hold": variant.hold, "base": variant.base.said()}
    if variant.base.aspect != variant.camera.aspect:
        settings["own_aspect"] = variant.base.aspect
    if variant.light:
        settings["light"] = variant.light.said()
    settings |= {key: getattr(variant, key) for key in NAMED if getattr(variant, key) is not None}
    return digest_of(settings)


def short_keys(digests: Sequence[str]) -> dict[str, str]:
    """Digest -> its first KEY_DIGITS digits; more of them for all that would be alike."""
    alike: dict[str, set[str]] = {}
    for digest in digests:
        alike.setdefault(digest[:KEY_DIGITS], set()).add(digest)
    keys: dict[str, str] = {}
    for group in alike.values():
        digits = KEY_DIGITS
        while len({digest[:digits] for digest in group}) < len(group):
            digits += 1
        keys |= {digest: digest[:digits] for digest in group}
    return keys
