"""The cameras of a sweep: variants that differ in place, viewing or light alone are one camera."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from stationpoint.study.axes import LIGHT, NAMED
from stationpoint.study.models import Study
from stationpoint.study.sweep import Variant, row_letters, settings_digest, short_keys


@dataclass(frozen=True, slots=True)
class SweptCamera:
    """One camera of a sweep.

    key: made as a variant's is, of its settings without place, viewing and swept light. head: where it
    stands on a sheet: a row's letter, a column's number, or a cell's label. variants: labels, in order.
    """

    key: str
    head: str
    variants: tuple[str, ...]


def pools(study: Study, variants: Sequence[Variant]) -> bool:
    """Whether a camera is judged more than once: at several places or viewings, as players may set it, or
    with place, viewing or light on an axis."""
    if len(study.places) > 1 or len(study.viewings) > 1 or study.options.ends:
        return True
    return any(field in NAMED or field in LIGHT for variant in variants for field, _ in variant.changes)


def swept_cameras(study: Study, variants: Sequence[Variant]) -> tuple[SweptCamera, ...]:
    """The cameras of these variants, in order of first appearance."""
    groups: dict[str, list[Variant]] = {}
    for variant in variants:
        own = replace(variant, place=None, viewing=None, light=study.light)
        groups.setdefault(settings_digest(own), []).append(variant)
    keys = short_keys(list(groups))
    rows = {variant.row for variant in variants}
    columns = {variant.column for variant in variants}
    return tuple(
        SweptCamera(keys[digest], _head(group, len(rows), len(columns)), tuple(one.label for one in group))
        for digest, group in groups.items()
    )


def _head(group: Sequence[Variant], rows: int, columns: int) -> str:
    """A whole row's letter, a whole column's number, one cell's label, else the first one's label; with
    its page's number before it where all are of one of several pages."""
    first = group[0]
    pages = {one.page for one in group}
    paged = "-" in first.label
    prefix = f"{first.page + 1}-" if paged and len(pages) == 1 else ""
    spots = {(one.row, one.column) for one in group}
    letter, number = row_letters(first.row), str(first.column + 1)
    if len(spots) == columns > 1 and len({row for row, _ in spots}) == 1:
        return prefix + letter
    if len(spots) == rows > 1 and len({column for _, column in spots}) == 1:
        return prefix + number
    return prefix + letter + number if len(spots) == 1 else first.label
