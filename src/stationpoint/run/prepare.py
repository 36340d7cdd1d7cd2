"""A study made ready to draw: its scene read and checked against it, cameras found, roles tinted."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from stationpoint.base.allowed import quoted_value
from stationpoint.base.errors import StudyWrong
from stationpoint.base.look import RGB, ROLE_TINT
from stationpoint.base.words import listed, nearest
from stationpoint.readings import limit_complaints, limit_notes, with_assumed, without_assumed
from stationpoint.run.fonts import FontFile, read_fonts, set_with
from stationpoint.run.meaning import unlikely_meanings
from stationpoint.run.port.files import cameras_of
from stationpoint.run.spots import placed_study
from stationpoint.scene import (
    Node,
    Scene,
    SceneCamera,
    of_one_colour,
    read_scene,
    stand_in,
    tinted_scene,
    with_node,
)
from stationpoint.study import (
    AXES,
    Study,
    Variant,
    check_study,
    decided,
    expand,
    key_complaints,
    meant_file,
    study_digest,
    target_nodes,
    unknown_keys,
    with_every_name,
)

MOST_NAMED = 8


@dataclass(frozen=True, slots=True, eq=False)
class Prepared:
    """A study with all that it needs, ready to draw.

    study: with no absolute path in it, so that nothing made of it depends on where it lies. scene:
    what is drawn: roles tinted, the stand-in subject added. scene_digest: of the scene as read.
    cameras: file cameras by the words of `from`. notes: what was odd in the scene's files and in
    the brief. fonts: the study's own. guessed: what was made up where a scene or mesh stands alone. body: in
    first person the node of the subject, as read, which is not in the scene. chosen: the variant of the
    study's decision, be it drawn or not.
    """

    study: Study
    scene: Scene
    scene_digest: str
    variants: tuple[Variant, ...]
    cameras: dict[str, SceneCamera] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    fonts: tuple[FontFile, ...] = ()
    guessed: tuple[str, ...] = ()
    body: Node | None = None
    chosen: Variant | None = None

    @property
    def said(self) -> Study:
        """What the study says itself, without what is assumed of it: what pictures carry."""
        return without_assumed(self.study)

    @property
    def study_digest(self) -> str:
        """Of what the study says itself."""
        return study_digest(self.said)


def prepare_study(
    study: Study, folder: Path, scene: Scene | None = None, guessed: Sequence[str] = ()
) -> Prepared:
    """The study with its scene read and checked against it; StudyWrong with every complaint.

    Words are set with this study's fonts from then on, until another study is prepared.

    folder: what the study's own paths are relative to. scene: where it has been read already. guessed: see
    Prepared.
    """
    if study.include is not None:
        raise StudyWrong(
            f"include = {quoted_value(study.include)} is read with a study's file alone; write it there."
        )
    path = folder / study.scene
    files = {_short(words): words for words in camera_words(study)}
    fonts, bad_fonts = read_fonts(study, folder)
    study = portable(study)
    variants = expand(study)
    if scene is None:
        if not path.exists():
            meant = meant_file(path) or "; its path counts from the study's own folder."
            raise StudyWrong(f'the study\'s scene = "{study.scene}" was not found{meant}')
        scene = read_scene(path, study.mesh_keys)
    study, wrong = placed_study(study, scene, folder)
    named = with_every_name(study)
    if named is not study:
        study, variants = named, expand(named)
    complaints = [
        *key_complaints(study, variants),
        *bad_fonts,
        *wrong,
        *check_study(study, scene),
        *(() if wrong else limit_complaints(study)),
    ]
    if complaints:
        raise StudyWrong("\n".join(map(study.with_source, complaints)))
    set_with(study, fonts, scene.names)
    study = with_assumed(study)
    used = dict.fromkeys(variant.camera.from_ for variant in variants)
    cameras = {words: camera_in_file(files[words], folder, scene) for words in used if words is not None}
    odd = (*limit_notes(study), *unknown_keys(study, variants), *unlikely_meanings(study, scene))
    notes = (*scene.notes, *odd)
    own = study.subject.node if study.subject is not None and study.camera.first_person else None
    body = None if own is None else scene.node(own)
    taken = decided(study, variants)
    drawn = scene_to_draw(scene, study)
    return Prepared(study, drawn, scene.digest, variants, cameras, notes, fonts, tuple(guessed), body, taken)


def portable(study: Study) -> Study:
    """The study with no absolute path in it: files with one are named without their folder."""
    sweep = study.sweep
    for axis in AXES:
        fields = getattr(sweep, axis)
        if "from" in fields:
            fields = {**fields, "from": tuple(_short(words) for words in fields["from"])}
            sweep = sweep.model_copy(update={axis: fields})
    camera = study.camera
    if camera.from_ is not None and Path(camera.from_).is_absolute():
        camera = camera.model_copy(update={"from_": _short(camera.from_)})
    fonts = tuple(_short(words) for words in study.fonts)
    changed = {"scene": _short(study.scene), "fonts": fonts, "camera": camera, "sweep": sweep}
    return study.model_copy(update={k: v for k, v in changed.items() if v != getattr(study, k)})


def camera_words(study: Study) -> Iterator[str]:
    """What `from` says, in the camera and on the axes."""
    if study.camera.from_ is not None:
        yield study.camera.from_
    for axis in AXES:
        yield from getattr(study.sweep, axis).get("from", ())


def _short(words: str) -> str:
    return Path(words).name if Path(words).is_absolute() else words


def camera_in_file(words: str, folder: Path, scene: Scene) -> SceneCamera:
    """The camera that `from = "level.glb#Name"` names; StudyWrong where there is none."""
    file, _, name = words.partition("#")
    at_hand = [camera for camera in scene.cameras if camera.file == Path(file).name]
    cameras = at_hand or list(cameras_of(folder / file))
    for camera in cameras:
        if camera.name == name:
            return camera
    known = [camera.name for camera in cameras]
    if not known:
        raise StudyWrong(f'camera: from = "{words}": {file} holds no cameras.')
    close = nearest(name, known)
    meant = f'did you mean "{close}"?' if close else f"it has {listed(known[:MOST_NAMED])}."
    raise StudyWrong(f'camera: from = "{words}": {file} has no camera "{name}"; {meant}')


def scene_to_draw(scene: Scene, study: Study) -> Scene:
    """The scene with roles tinted and the stand-in subjects added (last); in first person with no subject,
    neither its body nor the shadow of that."""
    tints: dict[str, RGB] = {}
    for target in reversed(study.target):  # where two targets share a node, the first one's role counts
        tints |= dict.fromkeys(target_nodes(target, scene.names), ROLE_TINT[target.role])
    subject = study.subject
    if subject is not None and not study.shows_subject:
        kept = tuple(node for node in scene.nodes if node.name != subject.node)
        if not kept:
            raise StudyWrong(
                "camera: first_person = true leaves nothing to draw: the subject is all there is."
            )
        return tinted_scene(replace(scene, nodes=kept), {n: t for n, t in tints.items() if n != subject.node})
    tints |= {one.node: ROLE_TINT["subject"] for one in study.subjects if one.node is not None}
    scene = tinted_scene(scene, tints)
    for one in study.subjects:
        if one.at is not None:
            figure = stand_in(one.name, one.at, one.height_m, one.heading_deg, one.shape, one.size)
            own = of_one_colour(one.colour, len(figure.faces))
            shown = own is not None and any(node.shows_own for node in scene.nodes)
            scene = with_node(scene, replace(figure, own=own, shows_own=shown))
    return scene
