"""What `handoff` does: cameras written for those who port them, in their own convention."""

from __future__ import annotations

from pathlib import Path

from stationpoint import __version__
from stationpoint.base.errors import StudyWrong
from stationpoint.cli import say
from stationpoint.cli.actions.outputs import CAMERAS, POINTS, STDOUT, Outputs
from stationpoint.cli.actions.work import ready, stem_of
from stationpoint.cli.options import HandoffOptions
from stationpoint.record import Convention, axes_from, handoff_text, points_text
from stationpoint.run import cameras_file, handed_variants

JSON, USD = ".json", ".usda"


def handoff(file: str, chosen: HandoffOptions) -> None:
    """Write the cameras; beside a .json its check points."""
    path = Path(file)
    convention = _convention(chosen)
    to = chosen["output"] or str(path.parent / f"{stem_of(path)}.camera.json")
    ending = JSON if to == STDOUT else Path(to).suffix.lower()
    outputs = Outputs(chosen["force"])
    outputs.claim(to, CAMERAS)
    if ending != JSON:
        _refuse_convention(convention, ending)
    elif chosen["with_level"]:
        raise StudyWrong("--with-level: a .json holds no level; write a .glb, .gltf or .usda.")
    beside = None if to == STDOUT or ending != JSON else points_beside(Path(to))
    outputs.claim(beside, POINTS)
    prepared = ready(path, chosen)
    handed = handed_variants(prepared, chosen["labels"])
    if ending == JSON:
        text = handoff_text(handed, convention, prepared.study.title, prepared.study_digest, __version__)
        outputs.add(to, CAMERAS, text.encode())
        if beside is not None:
            outputs.add(beside, POINTS, points_text(handed, convention).encode())
        notes: tuple[str, ...] = ()
    else:
        made = cameras_file(handed, ending, prepared.scene if chosen["with_level"] else None)
        outputs.add(to, CAMERAS, made.data)
        notes = made.notes
    say(*prepared.notes, *notes)
    outputs.deliver(quiet=False)


def points_beside(to: Path) -> Path:
    """Where the check points of a hand-off go: camera.json has camera.points.csv."""
    return to.with_name(f"{to.stem}.points.csv")


def _convention(chosen: HandoffOptions) -> Convention:
    axes = axes_from(chosen["axes"], chosen["handed"], chosen["up"])
    usual = "-z" if Convention(axes).handed == "right" else "+z"  # x right and y up in camera space
    return Convention(
        axes=axes,
        looks=chosen["camera_looks"] or usual,
        unit=chosen["unit"],
        clip=chosen["clip"],
        clip_y=chosen["clip_y"],
        is_reversed=chosen["is_reversed"],
        order=chosen["matrix_order"],
        yaw=chosen["yaw"],
        pitch=chosen["pitch"],
    )


def _refuse_convention(convention: Convention, ending: str) -> None:
    """StudyWrong where a file of a standard is asked for in another convention than its own."""
    if convention != Convention():
        kind = "USD" if ending == USD else "glTF"
        raise StudyWrong(
            f"{kind} has a convention of its own; leave out --handed, --up and the like, or write a .json."
        )
