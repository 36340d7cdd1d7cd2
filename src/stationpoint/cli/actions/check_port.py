"""What `check-port` does: a port's pixels held against a hand-off."""

from __future__ import annotations

from pathlib import Path

from stationpoint.cli import tell
from stationpoint.cli.options import CheckPortOptions
from stationpoint.record import read_handoff, read_seen
from stationpoint.run import check_seen

AGREES, DIFFERS = 0, 1


def check_port(table: str, file: str, chosen: CheckPortOptions) -> int:
    """Say of each variant in the table whether it agrees; the exit code."""
    handed = read_handoff(Path(file))
    found = check_seen(handed, read_seen(Path(table), handed), chosen["tolerance_px"])
    tell(*(one.says for one in found))
    return AGREES if all(one.is_right for one in found) else DIFFERS
