"""The pipeline in order: prepare a study, draw and measure its variants, hand back takes."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from stationpoint import __version__
from stationpoint.aim import Shape, aim, aspect_of, subject_foot_m, with_notes
from stationpoint.errors import StudyWrong
from stationpoint.judge import judge_all
from stationpoint.look import ROLE_TINT
from stationpoint.measure import FIELDS, read, wanted
from stationpoint.measure.types import Case, Take
from stationpoint.optics.eye import Seat, seat
from stationpoint.output.record import Record, record
from stationpoint.render import Renderer, open_renderer
from stationpoint.scene.edit import moved, stand_in, tinted, with_node
from stationpoint.scene.file import read_scene
from stationpoint.scene.types import Scene, SceneCamera
from stationpoint.shot import COLOUR, DEPTH, IDS, Shot
from stationpoint.study.check import check
from stationpoint.study.file import study_digest
from stationpoint.study.models import Place, Study, Sweep, Viewing
from stationpoint.study.sweep import Variant, expand
from stationpoint.words import listed, nearest

Moves = tuple[tuple[str, NDArray[np.float64]], ...]
SAME_ASPECT = 0.002  # pictures this near in aspect share one shape (1366 x 768 is a 16:9 screen)


@dataclass(frozen=True, slots=True, eq=False)
class Prepared:
    """A study with all that it needs, ready to draw.

    scene: what is drawn: roles tinted, the stand-in subject added. scene_digest: of the scene as
    read. cameras: file cameras by the words of `from`.
    """

    study: Study
    scene: Scene
    scene_digest: str
    variants: tuple[Variant, ...]
    cameras: dict[str, SceneCamera] = field(default_factory=dict)
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Wants:
    """What a run is for. only: names of reading groups, None for all."""

    cell_width: int = 544
    picture: bool = True
    ids: bool = False
    depth: bool = False
    tinted: bool = True
    grid: bool = True
    only: frozenset[str] | None = None


def prepare(study: Study, folder: Path) -> Prepared:
    """The study with its scene read and checked against it; StudyWrong with every complaint.

    folder: what the study's own paths are relative to.
    """
    variants = expand(study)
    scene = read_scene(folder / study.scene)
    complaints = list(check(study, scene, FIELDS))
    if complaints:
        raise StudyWrong("\n".join(complaints))
    named = dict.fromkeys(v.camera.from_ for v in variants if v.camera.from_ is not None)
    cameras = {words: camera_in_file(words, folder, scene) for words in named if words is not None}
    return Prepared(study, drawn(scene, study), scene.digest, variants, cameras, scene.notes)


def camera_in_file(words: str, folder: Path, scene: Scene) -> SceneCamera:
    """The camera that `from = "level.glb#Name"` names; StudyWrong where there is none."""
    file, mark, name = words.partition("#")
    if not mark or not file or not name:
        raise StudyWrong(f'camera: from = "{words}" must be a file and a camera\'s name: "level.glb#Name".')
    at_hand = [camera for camera in scene.cameras if camera.file == Path(file).name]
    cameras = at_hand or list(read_scene(folder / file).cameras)
    for camera in cameras:
        if camera.name == name:
            return camera
    known = [camera.name for camera in cameras]
    if not known:
        raise StudyWrong(f'camera: from = "{words}": {file} holds no cameras.')
    close = nearest(name, known)
    meant = f'did you mean "{close}"?' if close else f"it has {listed(known[:8])}."
    raise StudyWrong(f'camera: from = "{words}": {file} has no camera "{name}"; {meant}')


def drawn(scene: Scene, study: Study) -> Scene:
    """The scene with roles tinted and the stand-in subject added (last)."""
    tints = {}
    for target in reversed(study.target):
        patterns = [target.node] if target.node else _words(target.nodes)
        for pattern in patterns:
            for name in scene.matching(pattern):
                tints[name] = ROLE_TINT[target.role]
    subject = study.subject
    if subject is not None and subject.node is not None:
        tints[subject.node] = ROLE_TINT["subject"]
    scene = tinted(scene, tints)
    if subject is not None and subject.at is not None:
        figure = stand_in(subject.name, subject.at, subject.height_m, subject.heading_deg)
        scene = with_node(scene, replace(figure, tint=ROLE_TINT["subject"]))
    return scene


def _words(names: str | tuple[str, ...] | None) -> list[str]:
    return [names] if isinstance(names, str) else list(names or ())


def moves_at(place: Place, study: Study, scene: Scene) -> Moves:
    """World matrices (4, 4) of the nodes that a place moves, in scene order."""
    by_name: dict[str, NDArray[np.float64]] = {}
    for pattern, by in place.move.items():
        for name in scene.matching(pattern):
            shift = np.eye(4)
            shift[:3, 3] = by
            by_name[name] = shift @ by_name.get(name, np.eye(4))
    subject = study.subject
    if subject is not None and (place.at is not None or place.heading_deg is not None):
        name = subject.name if subject.at is not None else (subject.node or subject.name)
        foot = np.array(subject.at, dtype=float) if subject.at is not None else scene.node(name).foot
        to = np.array(place.at, dtype=float) if place.at is not None else foot
        turn = np.radians((place.heading_deg or subject.heading_deg) - subject.heading_deg)
        matrix = np.eye(4)
        matrix[0, 0] = matrix[2, 2] = np.cos(turn)
        matrix[0, 2], matrix[2, 0] = np.sin(turn), -np.sin(turn)
        matrix[:3, 3] = to - matrix[:3, :3] @ foot
        by_name[name] = matrix
    return tuple((node.name, by_name[node.name]) for node in scene.nodes if node.name in by_name)


def seat_of(viewing: Viewing, aspect: float | None = None) -> Seat:
    """The seat of a viewing; with an aspect, the picture is the largest of that aspect in its part."""
    left, top, right, bottom = viewing.part
    if aspect is not None:
        width, height = (right - left) * viewing.pixels[0], (bottom - top) * viewing.pixels[1]
        share = aspect * height / width
        across, down = min(share, 1.0), min(1.0 / share, 1.0)
        middle_x, middle_y = (left + right) / 2, (top + bottom) / 2
        half_x, half_y = (right - left) * across / 2, (bottom - top) * down / 2
        left, top, right, bottom = middle_x - half_x, middle_y - half_y, middle_x + half_x, middle_y + half_y
    return seat(
        viewing.name, viewing.diagonal_in, viewing.pixels, viewing.eye_distance_m, (left, top, right, bottom)
    )


def aspect_words(aspect: float) -> str:
    """An aspect as people write it: "16:9" for 1.7778, else the nearest small ratio or a number."""
    for down in range(1, 33):
        across = round(aspect * down)
        if across > 0 and abs(across / down / aspect - 1.0) < SAME_ASPECT / 4:
            return f"{across}:{down}"
    return f"{aspect:.4g}"


def shapes_of(
    variant: Variant, prepared: Prepared, cell_width: int
) -> list[tuple[Shape, tuple[int, int], tuple[Seat, ...]]]:
    """Picture shapes of a variant, the first one its own: (shape, pixels of record, seats).

    Viewings whose picture has the study's aspect share the first shape; another aspect makes
    further rows. Where the aspect is swept it is the picture's on every screen, letterboxed.
    """
    study = prepared.study
    viewings = [v for v in study.viewings if variant.viewing in (None, v.name)]
    own = aspect_of(variant.camera, study, prepared.cameras)
    swept = any(name == "aspect" for name, _ in variant.changes)
    groups: list[tuple[float, list[Seat]]] = [(own, [])]
    for viewing in viewings:
        at = seat_of(viewing, own if swept else None)
        for aspect, seats in groups:
            if abs(at.aspect / aspect - 1.0) < SAME_ASPECT:
                seats.append(at)
                break
        else:
            groups.append((at.aspect, [at]))
    shapes = []
    for aspect, seats in groups:
        if not seats:
            continue
        same = variant.camera.aspect is not None and aspect == own and ":" in variant.camera.aspect
        words = str(variant.camera.aspect) if same else aspect_words(aspect)
        cell = (cell_width, max(1, round(cell_width / aspect)))
        pixels = (round(seats[0].picture_px[0]), round(seats[0].picture_px[1]))
        shapes.append((Shape(words, aspect, cell), pixels, tuple(seats)))
    return shapes


def cases(prepared: Prepared, variants: Sequence[Variant], wants: Wants) -> Iterator[Case]:
    """Every case of the variants: variant by variant, place by place, shape by shape."""
    study = prepared.study
    arranged: dict[str, tuple[Moves, Scene]] = {}
    for variant in variants:
        for place in study.places:
            if variant.place not in (None, place.name):
                continue
            if place.name not in arranged:
                moves = moves_at(place, study, prepared.scene)
                arranged[place.name] = (moves, moved(prepared.scene, dict(moves)))
            moves, scene = arranged[place.name]
            for shape, pixels, seats in shapes_of(variant, prepared, wants.cell_width):
                setup = aim(variant, place, study, scene, shape, pixels, prepared.cameras)
                case = Case(study, scene, variant, place, setup, seats, shape.words, moves)
                yield replace(case, setup=with_notes(setup, notes_on(case)))


def notes_on(case: Case) -> tuple[str, ...]:
    """Warnings about a case, in plain words."""
    foot = subject_foot_m(case.study, case.scene, case.place)
    camera = case.setup.camera
    notes = []
    if not camera.parallel:
        ground = [node for node in case.scene.nodes if node.kind == "ground"]
        if ground and camera.eye_m[1] < ground[0].bounds[1][1]:
            notes.append(f"{case.variant.label}: the camera is under the ground.")
    if not np.all(np.isfinite(foot)):
        notes.append(f"{case.variant.label}: the subject has no place.")
    return tuple(notes)


def shots_of(case: Case, wants: Wants, with_picture: bool) -> dict[str, Shot]:
    """All shots of a case: what the readings want, and the picture."""
    shots = wanted(case, wants.only)
    planes = set()
    if with_picture and wants.picture:
        planes.add(COLOUR)
    if with_picture and wants.ids:
        planes.add(IDS)
    if with_picture and wants.depth:
        planes.add(DEPTH)
    if planes:
        main = shots.get("main") or Shot(
            case.setup.camera, frozenset(), moves=case.moves, towards_light=case.setup.towards_light
        )
        shots["main"] = replace(
            main,
            planes=main.planes | planes,
            towards_light=case.setup.towards_light,
            tinted=wants.tinted,
            grid=wants.grid,
        )
    return shots


def take(case: Case, renderer: Renderer | None, wants: Wants, with_picture: bool = True) -> Take:
    """One case, drawn and measured. renderer: None where no shot is wanted."""
    shots = shots_of(case, wants, with_picture)
    frames = {}
    for name, shot in shots.items():
        assert renderer is not None
        frames[name] = renderer.draw(shot)
    main = frames.get("main")
    reading = read(case, frames, wants.only)
    return Take(
        case.variant,
        case.place,
        case.setup,
        reading,
        case.seats,
        case.picture,
        main.colour if main is not None and with_picture else None,
        main.ids if main is not None and wants.ids and with_picture else None,
        main.depth_m if main is not None and wants.depth and with_picture else None,
    )


@dataclass(frozen=True, slots=True, eq=False)
class Batch:
    """Some variants of a prepared study, for one worker; picklable."""

    prepared: Prepared
    variants: tuple[Variant, ...]
    wants: Wants
    renderer: str


def work(batch: Batch, on_take: Callable[[], None] | None = None) -> tuple[Take, ...]:
    """The takes of a batch, in order. The renderer is opened only if something must be drawn."""
    takes: list[Take] = []
    pictured: set[str] = set()
    every = cases(batch.prepared, batch.variants, batch.wants)

    def one(case: Case, renderer: Renderer | None) -> None:
        first = case.variant.label not in pictured
        pictured.add(case.variant.label)
        takes.append(take(case, renderer, batch.wants, with_picture=first))
        if on_take is not None:
            on_take()

    waiting: list[Case] = []
    for case in every:
        if shots_of(case, batch.wants, with_picture=True):
            with open_renderer(batch.renderer, batch.prepared.scene) as renderer:
                for early in waiting:
                    one(early, renderer)
                one(case, renderer)
                for later in every:
                    one(later, renderer)
            return tuple(takes)
        waiting.append(case)
    for case in waiting:
        one(case, None)
    return tuple(takes)


def sweep(
    prepared: Prepared,
    wants: Wants,
    renderer: str = "gl",
    workers: int = 1,
    on_take: Callable[[], None] | None = None,
) -> list[Take]:
    """All takes of a study, in the order of its variants, whatever the number of workers.

    renderer: "gl" or "rays". workers: processes; 1 works in place. on_take: called after each take
    (in place) or batch of takes.
    """
    variants = prepared.variants
    if workers <= 1 or len(variants) < 2:
        return list(work(Batch(prepared, variants, wants, renderer), on_take))
    from stationpoint.executors import local

    size = max(1, -(-len(variants) // (workers * 4)))
    batches = [
        Batch(prepared, variants[start : start + size], wants, renderer)
        for start in range(0, len(variants), size)
    ]
    takes: list[Take] = []
    with local(workers) as executor:
        for done in executor.map(work, batches):
            takes.extend(done)
            if on_take is not None:
                for _ in done:
                    on_take()
    return takes


def takes_count(prepared: Prepared) -> int:
    """How many takes a sweep will make, for a progress bar."""
    places = len(prepared.study.places)
    return sum(
        (1 if variant.place else places) * len(shapes_of(variant, prepared, 1))
        for variant in prepared.variants
    )


def only_groups(words: str | None) -> frozenset[str] | None:
    """The groups of readings that `--only` names, None for all; StudyWrong for one that is not known."""
    if words is None:
        return None
    known = list(dict.fromkeys(field.path[0] for field in FIELDS))
    wanted_groups = [word.strip() for word in words.split(",") if word.strip()]
    for word in wanted_groups:
        if word not in known:
            close = nearest(word, known)
            meant = f'did you mean "{close}"?' if close else f"there are {listed(known)}."
            raise StudyWrong(f'--only: there is no group of readings "{word}"; {meant}')
    if not wanted_groups:
        raise StudyWrong(f"--only names no group of readings; there are {listed(known)}.")
    return frozenset(wanted_groups)


def recorded(prepared: Prepared, takes: Sequence[Take], renderer: str) -> Record:
    """The record of a run."""
    return record(
        takes,
        title=prepared.study.title,
        study_sha256=study_digest(prepared.study),
        renderer=renderer,
        version=__version__,
        fields=FIELDS,
        verdicts=judge_all(takes, prepared.study),
    )


def file_camera(prepared: Prepared, name: str = "study camera") -> SceneCamera:
    """The study's own camera, its first place and picture, as a camera that a GLB can hold."""
    study = prepared.study
    variant = expand(study.model_copy(update={"sweep": Sweep()}))[0]
    place = study.places[0]
    scene = moved(prepared.scene, dict(moves_at(place, study, prepared.scene)))
    shape, pixels, _ = shapes_of(variant, prepared, 544)[0]
    setup = aim(variant, place, study, scene, shape, pixels, prepared.cameras)
    if setup.projection == "oblique" or (setup.offset_by == "shift" and any(setup.offset)):
        raise StudyWrong(
            "camera: a GLB holds no oblique view and no lens shift; write the scene alone, "
            "or give the study another camera."
        )
    return SceneCamera(
        name=name,
        view=setup.camera.view,
        vfov_deg=setup.vfov_deg,
        aspect=setup.aspect,
        view_height_m=setup.view_height_m,
        near_m=max(setup.camera.near_m, 0.0) if setup.camera.parallel else setup.camera.near_m,
        far_m=setup.camera.far_m,
    )
