"""What a study names: which nodes a target means, and how readings call targets and gaps in one group."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING

from stationpoint.base.words import matching_names

if TYPE_CHECKING:
    from stationpoint.study.models import Target

_GAP, _TARGET = "gap:", "target:"


def gap_name(name: str) -> str:
    """A gap among targets: gap_name("hop") gives "gap:hop"."""
    return _GAP + name


def target_name(name: str) -> str:
    """A target among gaps: target_name("crate") gives "target:crate"."""
    return _TARGET + name


def cover_name(name: str) -> str:
    """A target among landings, which stand under their gaps' names: its own name.

    One that begins as those of gaps do gets "target:" before it, so that no two are ever the same:
    cover_name("crate") gives "crate", cover_name("gap:hop") gives "target:gap:hop".
    """
    return target_name(name) if name.startswith((_GAP, _TARGET)) else name


def target_patterns(target: Target) -> tuple[str, ...]:
    """The names, wildcards among them, of the nodes that make a target; none for a point or a box."""
    named = (target.node,) if target.node else ()
    several = (target.nodes,) if isinstance(target.nodes, str) else tuple(target.nodes or ())
    return named + several


def target_nodes(target: Target, names: Collection[str]) -> tuple[str, ...]:
    """Those of a scene's names that a target means: by pattern in the target's order, each
    once. Empty for a point or a box, or where nothing answers to any pattern.

    Worked: nodes = ["crate-*", "lid"] of lid, crate-1, crate-2: crate-1, crate-2, lid.
    """
    every = (name for pattern in target_patterns(target) for name in matching_names(pattern, names))
    return tuple(dict.fromkeys(every))
