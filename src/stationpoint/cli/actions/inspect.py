"""What `inspect` does."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path, PureWindowsPath

from stationpoint import __version__
from stationpoint.base.errors import StudyWrong
from stationpoint.base.files import Content
from stationpoint.base.words import counted
from stationpoint.cli import say, tell
from stationpoint.cli.actions.outputs import RECORD as A_RECORD
from stationpoint.cli.actions.outputs import SHEET, Outputs
from stationpoint.cli.actions.outputs import STUDY as A_STUDY
from stationpoint.cli.actions.sheet import demo_folder, draw_with, ending_of
from stationpoint.cli.actions.work import AUTO, GL, Drawer
from stationpoint.cli.options import InspectOptions
from stationpoint.record import Record, read_kept_texts, read_record, record_hash
from stationpoint.run import (
    DRAWING,
    RECORD,
    STUDY,
    How,
    Prepared,
    camera_words,
    check_format,
    drawing_from,
    files_of,
    prepare_study,
    told_studies,
)
from stationpoint.scene import read_scene
from stationpoint.study import READ_SUFFIXES, Study, study_from_text

REDRAWN = SHEET._replace(option="--redraw", or_else="")
MOST_NOTES = 20
ITS_STUDY = A_STUDY._replace(option="--study")


def inspect(file: str, chosen: InspectOptions) -> None:
    """Say what a sheet was made from; read back its record and study; draw it again."""
    if Path(file).suffix.lower() in READ_SUFFIXES:
        raise StudyWrong(f"{file} is no sheet; what is in it is told by: stationpoint check {file}")
    _check_folder(chosen)
    texts = read_kept_texts(file)
    if STUDY not in texts and told_studies(texts.get(RECORD, "")):
        _of_several(file, texts[RECORD], chosen)
        return
    texts = read_kept_texts(file, (RECORD, STUDY))
    whole = read_record(texts[RECORD], file)
    study = study_from_text(texts[STUDY], file)
    how = drawing_from(texts[DRAWING], file) if DRAWING in texts else None
    outputs = Outputs(chosen["force"])
    outputs.claim(chosen["redraw"], REDRAWN)
    check_format(ending_of(chosen["redraw"] or ""))
    if chosen["json_file"] is not None:
        outputs.add(chosen["json_file"], A_RECORD, texts[RECORD].encode())
    if chosen["study_file"] is not None:
        outputs.add(chosen["study_file"], ITS_STUDY, texts[STUDY].encode())
    if chosen["redraw"] is not None:
        if how is None:
            raise StudyWrong(
                f"{file} is no sheet of a sweep; draw it again from its study, with: stationpoint twins"
            )
        prepared = found_scene(Path(file), study, how, chosen["folder"])
        outputs.claim(chosen["redraw"], REDRAWN)  # now that the scene has been read
        outputs.add(chosen["redraw"], REDRAWN, redrawn(file, whole, prepared, how, chosen))
    if all(chosen[name] is None for name in ("json_file", "study_file", "redraw")):
        _tell(whole, study, how, record_hash(texts[RECORD]))
    outputs.deliver(chosen["quiet"])


def _of_several(file: str, text: str, chosen: InspectOptions) -> None:
    """Say what stands on a sheet of several studies; their judgement is all that it keeps."""
    if chosen["redraw"] is not None or chosen["study_file"] is not None:
        raise StudyWrong(f"{file} is a sheet of several studies; draw it again with: stationpoint judge")
    outputs = Outputs(chosen["force"])
    if chosen["json_file"] is None:
        tell(*told_studies(text))
    else:
        outputs.add(chosen["json_file"], A_RECORD, text.encode())
    outputs.deliver(chosen["quiet"])


def _check_folder(chosen: InspectOptions) -> None:
    folder = chosen["folder"]
    if folder is not None and chosen["redraw"] is None:
        raise StudyWrong("--folder says where the scene is for --redraw; name the picture to draw with that.")
    if folder is not None and not Path(folder).is_dir():
        raise StudyWrong(f"--folder: {folder} is no folder; name the one that holds the sheet's scene.")


def _tell(whole: Record, study: Study, how: How | None, digest: str) -> None:
    variants, rows = whole["variants"], whole["rows"]
    tell(*(study.title.strip() or "A study without a title").split("\n"))
    kind = "a page of twins or of changes" if how is None else f"mode {how.drawing.mode}, page {how.page + 1}"
    tell(f"Drawn by {_tool(whole)}, renderer {whole['renderer']}, {kind}.")
    if isinstance(variants, list) and isinstance(rows, list):
        close_up = how is not None and how.drawing.variants
        drawn = f" (a close-up of {', '.join(close_up)})" if close_up else ""
        tell(f"Scene {study.scene}; {counted(len(variants), 'variant')}{drawn}, {counted(len(rows), 'row')}.")
    tell(f"Record {digest}.", *_notes(whole))


def _notes(whole: Record) -> Iterator[str]:
    """The record's own notes, the first of them."""
    notes = whole.get("notes")
    if isinstance(notes, list):
        yield from (f"Note: {note}" for note in notes[:MOST_NOTES])
        if len(notes) > MOST_NOTES:
            yield f"{len(notes) - MOST_NOTES} more notes are in the record."


def _tool(whole: Record) -> str:
    tool = whole["tool"]
    return f"{tool.get('name')} {tool.get('version')}" if isinstance(tool, dict) else "an unknown tool"


def found_scene(file: Path, study: Study, how: How, folder: str | None) -> Prepared:
    """The sheet's own study with the scene that it names, found in `folder`, or beside the sheet, here,
    or among the demos.

    What a sheet says is another's word: nothing is read that lies outside these folders. A scene that
    the study names elsewhere is sought in `folder` by its bare name.
    """
    name = study.scene
    if not _is_within(name):
        if folder is None:
            raise StudyWrong(
                f'The sheet\'s scene "{name}" lies outside its folder; name the folder that holds it '
                "with --folder."
            )
        name = PureWindowsPath(name).name
    places = [Path(folder)] if folder is not None else [file.parent, Path(), demo_folder()]
    home = next((place for place in places if name and (place / name).is_file()), None)
    if home is None:
        raise StudyWrong(f'The sheet\'s scene "{study.scene}" was not found; name its folder with --folder.')
    scene = read_scene(home / name, study.mesh_keys)
    at_hand = {camera.file for camera in scene.cameras}
    for words in camera_words(study):
        camera_file = words.partition("#")[0]
        if not _is_within(camera_file) and Path(camera_file).name not in at_hand:
            raise StudyWrong(
                f'The sheet\'s camera "{words}" lies outside its folder; draw it again from its study.'
            )
    for words in study.fonts:
        if not _is_within(words):
            raise StudyWrong(
                f'The sheet\'s font "{words}" lies outside its folder; draw it again from its study.'
            )
    prepared = prepare_study(study, home, scene, how.guessed)
    if prepared.scene_digest != how.scene_digest:
        say(f"{study.scene} has changed since the sheet was drawn; the new picture shows it as it is now.")
    return prepared


def _is_within(name: str) -> bool:
    """Whether a path leads to what lies in its folder or below, on every system."""
    path = PureWindowsPath(name)  # knows both kinds of stroke
    return not path.anchor and ".." not in path.parts


def redrawn(file: str, whole: Record, prepared: Prepared, how: How, chosen: InspectOptions) -> Content:
    """The same page again; a line for each reason why it need not be the same to the byte."""
    drawing, page = how.drawing, how.page
    now = f"stationpoint {__version__}"
    if _tool(whole) != now:
        say(f"The sheet was drawn by {_tool(whole)}, this is {now}: it may look another way.")
    by_its_own = chosen["renderer"] == AUTO and drawing.renderer != GL  # auto is gl where that works
    drawer = Drawer(drawing.renderer if by_its_own else chosen["renderer"])
    ending = ending_of(chosen["redraw"] or "")
    made = draw_with(prepared, drawing, drawer, chosen, ending)
    page = min(page, files_of(page + 1, ending) - 1)  # a PDF is one file of all pages
    if drawer.name != drawing.renderer:
        say(f"The sheet was drawn by {drawing.renderer}; with {drawer.name} its pixels differ.")
    if not 0 <= page < len(made.pages):
        raise StudyWrong(f"{file} does not say how it was drawn; draw it from its study.")
    return made.pages[page]
