"""The pipeline in order: shots are asked for, drawn, read; results come back in the sweep's order."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, replace
from functools import partial

from stationpoint.base.errors import StudyWrong
from stationpoint.base.look import CELL_WIDTH_PX
from stationpoint.base.words import listed, nearest
from stationpoint.camera import COLOUR, DEPTH, IDS, Frames, Shot, ShotKey
from stationpoint.readings import (
    GROUPS,
    MAIN,
    Case,
    Result,
    bounded_paths,
    colour_shots,
    fields_of,
    glance_spots,
    hidden_ids,
    kinds_of,
    needs_shots,
    outline_shots,
    paths_meant,
    read,
    wanted,
)
from stationpoint.render import Renderer, before_fork, has_context, open_renderer
from stationpoint.run.cases import Scenes, cases, cases_count, pictures_of, widest_aspect
from stationpoint.run.prepare import Prepared
from stationpoint.run.told import filled_words, stands_words
from stationpoint.run.warnings import SEEN_OF_TARGETS, TARGETS, rested_on
from stationpoint.run.workers.processes import can_fork, work_in_order
from stationpoint.run.workers.worth import workers_worth
from stationpoint.study import Study, Variant

BATCHES_PER_WORKER = 12  # small enough that none waits long for the last
FEWER_BATCHES = 4  # where each place is arranged once a batch
MOST_CASES, MOST_TOGETHER = 1024, 64  # cases and variants that are measured before they are handed on
MOST_PICTURED = 8  # variants with pictures that are let go
PAGE_BYTES = 4096
BROUGHT = {"axes": ("pairs", "planes")}  # groups that come with another one
OWN: ShotKey = ("own",)
Sweeper = Callable[[Prepared, "Wants", str, int | None, Callable[[], None] | None], list[Result]]
BatchSweeper = Callable[
    [Prepared, "Wants", str, int | None, Callable[[], None] | None, bool, Callable[[], object]],
    Iterable[Sequence[Result]],
]
GLANCE = "glance"  # begins the keys of what is drawn for the picture alone, and no reading sees


@dataclass(frozen=True, slots=True)
class Wants:
    """What a run is for. own: pictures show the own colours of what shows them; readings see clay. paired:
    pictures are drawn twice, in clay and in own colours. glances: where the eye may land first. everywhere:
    whether each variant has its picture at every place rather than at its first alone.

    only: names of groups, kinds or fields ("targets.*.seen") of readings, None for all."""

    cell_width: int = CELL_WIDTH_PX
    picture: bool = True
    ids: bool = False
    depth: bool = False
    hidden: bool = False
    grid: bool = True
    shadow: bool = True
    own: bool = False
    paired: bool = False
    glances: bool = False
    everywhere: bool = False
    only: frozenset[str] | None = None


def only_asked(words: str | None, prepared: Prepared) -> frozenset[str] | None:
    """The groups and families of readings that `--only` names, by groups or by patterns of readings; None
    for all. StudyWrong for what means none."""
    if words is None:
        return None
    names = [word.strip() for word in words.split(",") if word.strip()]
    if not names:
        raise StudyWrong(f"--only names no group of readings; there are {listed(GROUPS)}.")
    found: set[str] = set()
    for word in names:
        if word in GROUPS:
            found |= {word, *BROUGHT.get(word, ())}
        elif "." in word:
            found |= kinds_of(paths_meant(f"--only {word}", word, prepared.study))
        else:
            close = nearest(word, GROUPS)
            meant = f'did you mean "{close}"?' if close else f"there are {listed(GROUPS)}."
            raise StudyWrong(f'--only: there is no group of readings "{word}"; {meant}')
    return frozenset(found)


def groups_of(study: Study) -> frozenset[str]:
    """The groups of readings that hold one which the brief bounds: what a record of a verdict has."""
    return frozenset(path[0] for path in bounded_paths(study))


def only_judged(study: Study) -> frozenset[str]:
    """The fields of readings that a verdict needs and no record is made of: those that the brief bounds, and
    of their groups those that warnings rest on. What must be seen for a warning alone is not drawn."""
    paths = bounded_paths(study)
    groups, drawn = groups_of(study), needs_shots(kinds_of(path for path in paths if path[0] == TARGETS))
    left_out = () if drawn else SEEN_OF_TARGETS
    told = [one for one in rested_on(study) if one[0] in groups and one not in left_out]
    return fields_of(paths) | {".".join(path) for path in told}


def must_draw(wants: Wants) -> bool:
    """Whether anything may have to be drawn: a picture, or what a reading must see."""
    return wants.picture or needs_shots(wants.only)


def shots_of(case: Case, wants: Wants, with_picture: bool) -> dict[ShotKey, Shot]:
    """All shots of a case: what the readings want, and the picture."""
    shots = wanted(case, wants.only)
    if not (with_picture and wants.picture):
        return shots
    asked = {COLOUR: True, IDS: True, DEPTH: wants.depth}  # ids: to tell what fills it
    planes = frozenset(plane for plane, is_asked in asked.items() if is_asked)
    towards_light = case.setup.towards_light
    main = shots.get(MAIN) or Shot(case.setup.camera, frozenset(), moves=case.moves)
    picture = replace(
        main,
        planes=main.planes | planes,
        towards_light=towards_light,
        own=wants.own and not wants.paired,
        grid=wants.grid,
        shadow=wants.shadow,
        about_m=case.setup.anchor_m,
    )
    shots = {**shots, MAIN: picture}
    if wants.hidden:
        shots |= outline_shots(case)
    if wants.glances:
        shots |= {(GLANCE, *key): shot for key, shot in colour_shots(case).items() if key not in shots}
    if wants.own and wants.paired:
        shots[OWN] = replace(picture, planes=frozenset({COLOUR}), whole=(), own=True)
    return shots


def by_camera(shots: Mapping[ShotKey, Shot]) -> list[ShotKey]:
    """The keys of shots, those of one camera together, the picture's first: what a renderer drew last it
    keeps, and many shots of a camera differ in their look alone."""
    first = [shots[MAIN]] if MAIN in shots else []
    number = {id(shot.camera): k for k, shot in reversed([*enumerate((*first, *shots.values()))])}
    return sorted(shots, key=lambda key: number[id(shots[key].camera)])


def measure_case(case: Case, frames: Frames, wants: Wants, with_picture: bool = True) -> Result:
    """One case, measured. frames: what was drawn of its shots, by key."""
    main = frames.get(MAIN) if with_picture else None
    reading = read(case, frames, wants.only)
    drawn = None if main is None or not wants.picture else main.ids
    glanced = {**frames, **{key[1:]: frame for key, frame in frames.items() if key[0] == GLANCE}}
    return Result(
        case.variant,
        case.place,
        case.setup,
        reading,
        case.seats,
        case.picture,
        picture=None if main is None else main.colour,
        ids=main.ids if main is not None and wants.ids else None,
        depth_m=main.depth_m if main is not None and wants.depth else None,
        hidden=hidden_ids(case, frames, drawn) if drawn is not None and wants.hidden else None,
        stands="" if drawn is None else stands_words(case, reading.values),
        filled="" if drawn is None else filled_words(case, reading.values, drawn),
        own_picture=frames[OWN].colour if with_picture and OWN in frames else None,
        glances=glance_spots(case, glanced) if drawn is not None and wants.glances else (),
    )


class CaseRunner:
    """Where variants are drawn and measured: what stays from one to the next.

    The renderer is opened only once something must be drawn. While it draws a case's picture, the
    case before is measured. open_one: gives the renderer where one may be open already.
    """

    def __init__(
        self,
        prepared: Prepared,
        wants: Wants,
        renderer: str,
        open_things: ExitStack,
        open_one: Callable[[], Renderer] | None = None,
        scenes: Scenes | None = None,
    ) -> None:
        self._prepared, self._wants, self._name = prepared, wants, renderer
        self._open_things, self._open_one = open_things, open_one
        self._renderer: Renderer | None = None
        self._scenes = scenes or Scenes(prepared)
        self._widest = widest_aspect(prepared)

    def results(self, some: range, on_result: Callable[[], None] | None = None) -> tuple[Result, ...]:
        """The results of some of the study's variants, counted from 0, in order."""
        return self.of_variants(self._prepared.variants[some.start : some.stop], on_result)

    def of_variants(
        self,
        variants: tuple[Variant, ...],
        on_result: Callable[[], None] | None = None,
        see: Callable[[Result], None] | None = None,
    ) -> tuple[Result, ...]:
        """The results of these variants of the study, in order: the first of each (or the first at each
        place) with its picture. see: called with each once it is made."""
        wants, results = self._wants, list[Result]()
        waiting: Callable[[], Result] | None = None

        def finish() -> None:
            nonlocal waiting
            if waiting is not None:
                results.append(waiting())
                if see is not None:
                    see(results[-1])
                waiting = None  # its frames are let go: new ones then take memory that is near the processor
                if on_result is not None:
                    on_result()

        before = ("", "")
        some_of_it = replace(self._prepared, variants=variants)
        by_place = not wants.picture
        for case in cases(
            some_of_it, wants.cell_width, self._scenes, self._widest, wants.picture, by_place, wants.only
        ):
            here = (case.variant.label, case.place.name if wants.everywhere else "")
            first, before = here != before, here
            shots = shots_of(case, wants, first)
            picture = self._opened().begin(shots[MAIN]) if MAIN in shots else None
            finish()
            frames = {MAIN: picture()} if picture is not None else {}
            left = [key for key in by_camera(shots) if key not in frames]
            if left:
                drawn = self._opened().draw_all([shots[key] for key in left])
                frames.update(zip(left, drawn, strict=True))
            waiting = partial(measure_case, case, frames, wants, first)
            if see is not None:  # whoever waits for it sees it before the next is drawn
                finish()
        finish()
        if by_place:
            turn = {variant.label: k for k, variant in enumerate(variants)}
            results.sort(key=lambda result: turn[result.variant.label])
        return tuple(results)

    def _opened(self) -> Renderer:
        if self._renderer is None and self._open_one is not None:
            self._renderer = self._open_one()
        elif self._renderer is None:
            self._renderer = self._open_things.enter_context(open_renderer(self._name, self._prepared.scene))
        return self._renderer


@contextmanager
def _desk(
    prepared: Prepared,
    wants: Wants,
    renderer: str,
    on_result: Callable[[], None] | None = None,
    scenes: Scenes | None = None,
) -> Iterator[Callable[[range], tuple[Result, ...]]]:
    with ExitStack() as open_things:
        runner = CaseRunner(prepared, wants, renderer, open_things, scenes=scenes)
        yield partial(runner.results, on_result=on_result)


def sweep_variants(
    prepared: Prepared,
    wants: Wants,
    renderer: str = "gl",
    workers: int | None = 1,
    on_result: Callable[[], None] | None = None,
    executor: str | None = None,
) -> list[Result]:
    """All results of a study, in the order of its variants, whatever the number of workers.

    Arguments as of `sweep_batches`.
    """
    batches = sweep_batches(prepared, wants, renderer, workers, on_result, executor=executor)
    return [one for batch in batches for one in batch]


def sweep_batches(
    prepared: Prepared,
    wants: Wants,
    renderer: str = "gl",
    workers: int | None = 1,
    on_result: Callable[[], None] | None = None,
    let_go: bool = False,
    meanwhile: Callable[[], object] | None = None,
    executor: str | None = None,
) -> Iterator[tuple[Result, ...]]:
    """The results of a study, all of some variants at a time, in order: nothing of them is kept here.

    renderer: "gl" or "rays". workers: processes; 1 works in place, None takes as many as pay. on_result:
    called after each result (in place) or batch of results. let_go: whether pictures are, by whoever takes
    them, so that no memory may be shared for them all. meanwhile: called here once other processes of this
    machine are at work, if there are any. executor: the address of a dask scheduler whose
    workers take the place of processes.
    """
    count = len(prepared.variants)
    cluster = None
    if executor is not None:
        from stationpoint.run.workers.cluster import connect  # late: few calls go to other machines

        cluster = connect(executor, renderer if must_draw(wants) else None)
    workers = workers if cluster is None else cluster.count
    workers = min(workers_worth(prepared) if workers is None else workers, count)
    several = 1 if wants.picture else len(prepared.study.places)
    size = max(1, min(MOST_PICTURED if let_go else MOST_TOGETHER, MOST_CASES // several))
    if workers > 1:
        size = min(size, -(-count // (workers * (BATCHES_PER_WORKER if several == 1 else FEWER_BATCHES))))
    batches = [range(start, min(start + size, count)) for start in range(0, count, size)]
    if workers <= 1 and cluster is None:
        with _desk(prepared, wants, renderer, on_result) as work:
            for batch in batches:
                yield work(batch)
        return
    may_fork = not has_context() and can_fork()
    scenes = None
    if may_fork and cluster is None:
        scenes = _looked_into(prepared, wants)
        if must_draw(wants):
            before_fork(renderer, prepared.scene)
    work_of_each = partial(_desk, prepared, wants, renderer, scenes=scenes)
    each = picture_bytes(prepared, wants)
    room = size * max(each) if let_go else sum(each)
    made = (
        work_in_order(
            work_of_each,
            batches,
            workers,
            may_fork=may_fork,
            room_bytes=room,
            let_go=let_go,
            meanwhile=meanwhile,
        )
        if cluster is None
        else cluster.work_in_order(work_of_each, batches)
    )
    for done in made:
        if on_result is not None:
            for _ in done:
                on_result()
        yield done


def _looked_into(prepared: Prepared, wants: Wants) -> Scenes:
    """The scenes of a study, with what readings find of a place before anything is drawn: a process that is
    forked then has it, and need not find it again."""
    scenes, seen = Scenes(prepared), set[str]()
    one = replace(prepared, variants=prepared.variants[:1])
    for case in cases(one, wants.cell_width, scenes, widest_aspect(prepared)):
        if case.place.name not in seen:
            seen.add(case.place.name)
            wanted(case, wants.only)
    return scenes


def picture_bytes(prepared: Prepared, wants: Wants) -> list[int]:
    """What the pictures of each variant take, with their planes, at most."""
    a_pixel = 3 * (wants.picture + wants.paired) + 4 * wants.ids + 4 * wants.depth + 4 * wants.hidden
    if not a_pixel:
        return [0]
    shapes = [pictures_of(v, prepared, wants.cell_width)[0].shape.cell_px for v in prepared.variants]
    places = len(prepared.study.places) if wants.everywhere else 1
    return [places * (across * down * a_pixel + PAGE_BYTES) for across, down in shapes]


def cases_to_draw(prepared: Prepared) -> int:
    """How many results a sweep will make, for a progress bar."""
    return cases_count(prepared)
