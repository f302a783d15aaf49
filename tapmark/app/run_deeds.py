"""Opening and beginning runs: which pictures, which file, who holds it, where we were."""

from dataclasses import replace
from pathlib import Path

from tapmark.app.desk import Desk
from tapmark.app.gallery import Gallery
from tapmark.app.prompting import Prompt, next_open
from tapmark.app.state import Work
from tapmark.clip.frames import Clip, Pictures, begin_clip, open_stills, read_header
from tapmark.errors import HeldByAnother
from tapmark.marks.history import History
from tapmark.marks.people import Athlete, Visit
from tapmark.marks.points import EVENTS
from tapmark.marks.run import Run, SetUp, Source
from tapmark.store import pictures as stored
from tapmark.store.gates import may_import
from tapmark.store.open_run import open_run as hold_run

PROGRAM = "the Tapmark window"
WATCH_MS = 150


def start_run(desk: Desk, code: str, dated: str) -> None:
    """Begin a run of a visit; it gets its name and file with its pictures."""
    state = desk.state
    if not state.squad or not state.athlete:
        return
    visit = state.squad.new_visit(code, dated)
    choices = state.squad.choices
    set_up = _for_athlete(choices.set_up, state.athlete)
    if visit.runs:
        last = state.squad.load_run(code, dated, visit.runs[-1])
        set_up = replace(last.set_up, upright_px=None, scale_px=None)
    set_up = replace(set_up, uses_neck_base=choices.neck_base == "yes")
    _put(desk, visit, Run(set_up=set_up, marked_by=choices.marker), "")


def _for_athlete(usual: SetUp, athlete: Athlete) -> SetUp:
    """Return the squad's usual answers with what belongs to this athlete and to today."""
    lengths = {length.what: length.cm for length in athlete.lengths}
    leg, height = lengths.get("leg"), lengths.get("height")
    return replace(
        usual,
        leg_cm=leg or (0.53 * height if height else None),
        leg_source="tape" if leg else "height" if height else "",
        pain="not answered",
        effort=None,
        speed_mps=None,
        upright_px=None,
        scale_px=None,
    )


def _put(desk: Desk, visit: Visit, run: Run, name: str) -> None:
    state = desk.state
    let_go(desk)
    state.history, state.run_name = History(Work(visit, run)), name
    state.i_step, state.event, state.prompt = 0, EVENTS[run.view][0], None
    state.picture, state.aim, state.is_again, state.views = 0, None, False, {}
    state.picking, state.picked, state.said = "", (), ""


def let_go(desk: Desk) -> None:
    """Close the pictures and give the run free."""
    state = desk.state
    if state.gallery:
        state.gallery.pictures.close()
        state.gallery = None
    if desk.held:
        desk.held.close()
        desk.held = None


def open_run(desk: Desk, code: str, dated: str, name: str, place: tuple[str, ...] = ()) -> None:
    """Open a run where it was left: its pictures, its key frame, its prompt."""
    state = desk.state
    if not state.squad:
        return
    visit, run = state.squad.visit(code, dated), state.squad.load_run(code, dated, name)
    if state.athlete is None or state.athlete.code != code:
        state.athlete = state.squad.athlete(code)
    _put(desk, visit, run, name)
    _hold(desk, code, dated, name)
    desk.go(place[0] if place else page_for(run))
    state.settle()
    if len(place) > 2 and place[2]:
        state.go_to(place[1], Prompt(place[1], place[2]))
    elif len(place) > 1:
        state.event = place[1]
    path = stored.clip_path(run.source, state.squad.run_path(code, dated, name))
    load_pictures(desk, path, (), is_new=False)


def _hold(desk: Desk, code: str, dated: str, name: str) -> None:
    """Take the run for writing; when another window has it, say so and save nothing."""
    squad = desk.state.squad
    if not squad:
        return
    try:
        desk.held = hold_run(squad, code, dated, name, PROGRAM, desk.now())
        desk.is_read_only = False
    except HeldByAnother as held:
        desk.is_read_only = True
        desk.state.trouble = str(held)


def page_for(run: Run) -> str:
    """Return the page on which a run is to be gone on with."""
    if not run.source.kind:
        return "film"
    if not run.steps[0].key_frames:
        return "frames"
    return "taps" if next_open(run, 0) else "review"


def ask_clip(desk: Desk) -> None:
    """Ask for a clip and open it as the pictures of this run."""
    path = desk.ask.clip()
    if path:
        load_pictures(desk, path, (), is_new=True)


def ask_folder(desk: Desk) -> None:
    """Ask for a folder of stills."""
    path = desk.ask.folder("Open a folder of stills")
    if path:
        load_pictures(desk, path, (), is_new=True)


def ask_stills(desk: Desk) -> None:
    """Ask for loose stills."""
    paths = desk.ask.stills()
    if paths:
        load_pictures(desk, paths[0].parent, paths, is_new=True)


def load_pictures(desk: Desk, path: Path, stills: tuple[Path, ...], *, is_new: bool) -> None:
    """Open pictures beside the window; a clip is usable from its first picture on."""
    state = desk.state
    if is_new and state.athlete:
        may_import(state.athlete, desk.now().date().isoformat())
    state.said = f"Opening “{path.name}” …"

    def work(task: object) -> Pictures:
        if stills or path.is_dir():
            return open_stills(stills or path)
        return begin_clip(path, desk.cache_folder, header=read_header(path))

    desk.jobs.run(
        "pictures",
        work,
        lambda pictures: desk.attempt(lambda: _use(desk, pictures, path, is_new)),
        desk.failed,
    )
    state.tell()


def _use(desk: Desk, pictures: Pictures, path: Path, is_new: bool) -> None:
    """Show the pictures; those of a new run make its file."""
    state = desk.state
    if state.gallery:
        state.gallery.pictures.close()
    state.gallery, state.said = Gallery(pictures, desk.jobs), ""
    if is_new:
        _take_source(desk, pictures, path)
        state.picture = 0
    elif state.frame:
        state.picture = state.frame.picture
    desk.note_place()
    _watch(desk)


def _take_source(desk: Desk, pictures: Pictures, path: Path) -> None:
    state = desk.state
    if not state.squad or not state.work:
        return
    work, squad = state.work, state.squad
    code, dated = work.visit.code, work.visit.dated
    set_up = work.run.set_up
    if pictures.capture.slow_factor is not None:
        set_up = replace(
            set_up,
            slow_factor=pictures.capture.slow_factor,
            rate_source=pictures.capture.source,
        )
    run = replace(work.run, set_up=set_up)
    if state.run_name:  # other pictures for the same run: its marks belong to the old ones
        run = replace(run, steps=Run().steps)
    run_path = squad.run_path(code, dated, state.run_name or "run-1")
    run = replace(run, source=_source(pictures, path, run_path))
    if state.run_name:
        state.record("other pictures", run)
        return
    name = squad.new_run(code, dated, run)
    state.history, state.run_name = History(Work(squad.visit(code, dated), run)), name
    _hold(desk, code, dated, name)
    desk.note_saved()


def _source(pictures: Pictures, path: Path, run_path: Path) -> Source:
    n = len(pictures)
    last = pictures.time_s(n - 1) if n else None
    source = Source(pictures.kind, "", pictures.size_px, n, duration_s=last)
    if pictures.kind == "clip":
        return stored.clip_of(path, run_path, source)
    return replace(source, path=stored.way_to(path, run_path))


def _watch(desk: Desk) -> None:
    """Look now and then how far the reading of a clip is, until it is over."""
    state = desk.state
    clip = state.gallery.pictures if state.gallery else None
    if not isinstance(clip, Clip):
        return
    if not clip.is_done:
        desk.later(WATCH_MS, lambda: _watch(desk) if _is_still(desk, clip) else None)
        state.tell()
        return
    desk.attempt(clip.check)
    if state.run and state.run_name:
        n = len(clip)
        source = replace(state.run.source, n_pictures=n, duration_s=clip.time_s(n - 1))
        state.amend(replace(state.run, source=source))
    if clip.shortfall:
        state.said = clip.shortfall
    state.tell()


def _is_still(desk: Desk, clip: Clip) -> bool:
    gallery = desk.state.gallery
    return gallery is not None and gallery.pictures is clip
