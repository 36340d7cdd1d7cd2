"""How readings call what a study names, where targets and gaps stand in one group."""

from __future__ import annotations

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
