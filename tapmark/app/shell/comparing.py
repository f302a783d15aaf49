"""Holding another run beside the one that is open."""

from pathlib import Path

from tapmark.app.jobs import Task
from tapmark.app.shell.context import Context
from tapmark.app.shell.runs import wish_of
from tapmark.app.state.frames_shown import Gallery, KeptStills
from tapmark.app.state.pages import CompareState
from tapmark.app.state.session import AppState
from tapmark.clip.frames import Pictures
from tapmark.errors import ClipError, TapmarkError
from tapmark.report.pages.content import CompareContent
from tapmark.services.pictures import RunPlace, compare
from tapmark.services.places import VisitPlace
from tapmark.store.names import run_number
from tapmark.store.squad import RunAt, Squad, open_squad

PAGE = "compare"


def others_of(squad: Squad, code: str, here: RunAt) -> tuple[RunAt, ...]:
    """Return the runs of an athlete that may stand beside this one, newest first."""
    found = [
        (code, dated, name)
        for dated in squad.visit_dates(code)
        for name in squad.run_names(code, dated)
    ]
    return tuple(where for where in reversed(found) if where != here)


def left_and_right(state: AppState) -> tuple[RunAt, RunAt]:
    """Return which run stands left and which right: the earlier one of one athlete, or this one."""
    mine, other = state.where, state.compare.where
    if other is None:
        return mine, mine
    is_earlier = other[0] == mine[0] and _time_of(other) < _time_of(mine)
    return (other, mine) if is_earlier else (mine, other)


def _time_of(where: RunAt) -> tuple[str, int]:
    return where[1], run_number(where[2])


def places(
    squad: Squad, runs: tuple[RunAt, RunAt], mine: RunAt, i_step: int
) -> tuple[RunPlace, RunPlace]:
    """Return where two runs lie, with the step at hand of mine and the first of the other."""
    left, right = (
        RunPlace(VisitPlace(squad, *at[:2]), at[2], i_step if at == mine else 0) for at in runs
    )
    return left, right


def open_compare(context: Context) -> None:
    """Show another run of the same athlete beside this one: the newest before it."""
    state = context.state
    others = others_of(state.the_squad, state.where[0], state.where)
    frame = state.step.key_frames[0] if state.step.key_frames else None
    state.compare.close()
    state.compare = CompareState(others=others, over=state.compare.over)
    if frame:
        state.go_to(frame.event)
    if state.page in ("review", "drawing", "sheet"):
        state.compare.back = state.page
    context.go(PAGE)
    if others:
        choose_other(context, others[0])


def choose_other(context: Context, where: RunAt) -> None:
    """Put a run beside this one; its frames and the numbers come when they are ready."""
    state, squad = context.state, context.state.the_squad
    context.saver.refuse_unsaved()
    state.compare.close()
    run = squad.load_run(*where)
    state.compare.where, state.compare.run, state.compare.content = where, run, None
    path, folder = squad.run_path(*where), squad.stills_folder(*where)

    def opened(task: Task) -> Pictures:
        try:
            return wish_of(run, path).opened(context.cache_folder, task)
        except ClipError:
            kept = KeptStills(run, folder)
            if kept.is_empty:
                raise
            return kept

    def use(pictures: Pictures) -> None:
        if state.compare.where == where:
            state.compare.close()
            state.compare.gallery = Gallery(pictures, context.jobs)
            state.notify()
        else:
            pictures.close()

    def late(pictures: Pictures) -> None:
        pictures.close()

    context.jobs.run("compare", opened, use, context.failed, by="run", late=late)
    _compare(context, squad.folder)


def _compare(context: Context, folder: Path) -> None:
    state, today, mine = context.state, context.today(), context.state.where
    i_step, sides = state.marking.i_step, left_and_right(state)

    def work(task: Task) -> CompareContent:
        return compare(*places(open_squad(folder, []), sides, mine, i_step), today)

    def done(content: CompareContent) -> None:
        state.compare.content = content
        state.notify()

    def failed(trouble: TapmarkError) -> None:
        state.status = str(trouble)
        state.notify()

    context.jobs.run("compare numbers", work, done, failed, by="run")
