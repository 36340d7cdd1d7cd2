"""Who is who in the ids: which target or role an id belongs to."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from stationpoint.study import Study, target_nodes

SUBJECT = "subject"
FEW = 16  # ids that are sooner compared one by one


class Solid(Protocol):
    """What the sheet asks of a node of the scene."""

    @property
    def name(self) -> str: ...
    @property
    def kind(self) -> str: ...
    @property
    def vertices(self) -> NDArray[np.float32]: ...


@dataclass(frozen=True, slots=True)
class Owner:
    """role: "subject", "primary", "secondary" or "tertiary". target: its name, None for the subject."""

    role: str
    target: str | None = None


def owners_by_id(nodes: Iterable[Solid], study: Study) -> dict[int, Owner]:
    """Id -> who, for the nodes of the scene in its order (node k has id k + 1); scenery is left out.

    The subject outranks targets, an earlier target a later one.
    """
    solids = tuple(nodes)
    numbers = {solid.name: number for number, solid in enumerate(solids, start=1)}
    found: dict[int, Owner] = {}
    for target in reversed(study.target):
        for name in target_nodes(target, numbers):
            found[numbers[name]] = Owner(target.role, target.name)
    own = {one.node for one in study.subjects}
    for number, solid in enumerate(solids, start=1):
        if solid.kind == SUBJECT or solid.name in own:
            found[number] = Owner(SUBJECT)
    return found


def names_by_role(
    study: Study, who: Mapping[int, Owner], outlined: frozenset[int], told: bool
) -> list[tuple[str, tuple[str, ...]]]:
    """Roles with the names of subject and targets that are outlined (told), or are tinted instead.

    who: as of `owners_by_id`; of who is not in it nothing is outlined.
    """
    round_them = {one.target for number, one in who.items() if number in outlined}
    roles: list[tuple[str, tuple[str, ...]]] = []
    if study.shows_subject and (None in round_them) == told:
        roles.append((SUBJECT, tuple(one.name for one in study.subjects)))
    for role in ("primary", "secondary", "tertiary"):
        those = (target.name for target in study.target if target.role == role)
        names = tuple(name for name in those if (name in round_them) == told)
        roles += [(role, names)] if names else []
    return roles


def showing(ids: NDArray[np.uint32], numbers: Sequence[int]) -> NDArray[np.bool_]:
    """Which pixels show any of these ids, (h, w)."""
    if len(numbers) > FEW:
        return np.isin(ids, numbers)
    found = np.zeros(ids.shape, dtype=bool)
    for number in numbers:
        found |= ids == number
    return found


def owner_codes(
    ids: NDArray[np.uint32], who: Mapping[int, Owner], names: tuple[str, ...]
) -> NDArray[np.int16]:
    """For each pixel of `ids` (h, w): k for target `names[k]`, -1 for the subject, -2 for the rest."""
    most = max([int(ids.max(initial=0)), *who])
    table = np.full(most + 1, -2, dtype=np.int16)
    for number, one in who.items():
        if one.target is None:
            table[number] = -1
        elif one.target in names:
            table[number] = names.index(one.target)
    result: NDArray[np.int16] = table[ids]
    return result
