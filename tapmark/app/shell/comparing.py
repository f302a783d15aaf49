"""Holding another run beside the one that is open."""

from tapmark.app.shell.context import Context
from tapmark.app.shell.runs import wish_of
from tapmark.app.state.frames_shown import Gallery, KeptStills
from tapmark.app.state.session import CompareState, Where
from tapmark.clip.frames import Pictures
from tapmark.errors import ClipError, TapmarkError
from tapmark.report.pages.content import CompareContent
from tapmark.services.pictures import RunPlace, compare
from tapmark.services.places import VisitPlace
from tapmark.store.names import run_number
from tapmark.store.squad import Squad, open_squad

PAGE = "compare"


def others_of(squad: Squad, code: str, here: Where) -> tuple[Where, ...]:
    """Return the runs of an athlete that may stand beside this one, newest first."""
    found = [
        (code, dated, name)
        for dated in squad.visit_dates(code)
        for name in squad.run_names(code, dated)
    ]
    return tuple(where for where in reversed(found) if where != here)


def here(context: Context) -> Where:
    """Return where the run at hand lies."""
    visit = context.state.visit
    return (visit.code, visit.dated, context.state.run_name) if visit else ("", "", "")


def time_of(where: Where) -> tuple[str, int]:
    return where[1], run_number(where[2])


def left_and_right(context: Context) -> tuple[Where, Where]:
    """Return which run stands left and which right: the earlier one of one athlete, or this one."""
    mine, other = here(context), context.state.compare.where
    if other is None:
        return mine, mine
    is_earlier = other[0] == mine[0] and time_of(other) < time_of(mine)
    return (other, mine) if is_earlier else (mine, other)


def open_compare(context: Context) -> None:
    """Show another run of the same athlete beside this one: the newest before it."""
    state = context.state
    if not state.squad or not state.visit:
        return
    state.compare = CompareState(others=others_of(state.squad, state.visit.code, here(context)))
    frame = state.step.key_frames[0] if state.step.key_frames else None
    state.compare.picture = frame.picture if frame else 0
    if state.page in ("review", "sheet"):
        state.compare.back = state.page
    context.go(PAGE)
    if state.compare.others:
        choose_other(context, state.compare.others[0])


def choose_other(context: Context, where: Where) -> None:
    """Put a run beside this one; pictures and numbers come when they are ready."""
    state, squad = context.state, context.state.squad
    if not squad:
        return
    context.saver.refuse_unsaved()
    let_other_go(context)
    run = squad.load_run(*where)
    state.compare.where, state.compare.run, state.compare.content = where, run, None
    path = squad.run_path(*where)
    folder = squad.stills_folder(*where)

    def pictures(task: object) -> Pictures:
        try:
            return wish_of(run, path).opened(context.cache_folder, task)  # type: ignore[arg-type]
        except ClipError:
            kept = KeptStills(run, folder)
            if kept.is_empty:
                raise
            return kept

    context.jobs.run(
        "compare",
        pictures,
        lambda found: _use(context, where, found),
        context.failed,
        by="run",
        late=lambda found: found.close(),
    )
    _compare(context, where)


def _use(context: Context, where: Where, pictures: Pictures) -> None:
    if context.state.compare.where == where:
        context.state.compare.gallery = Gallery(pictures, context.jobs)
        context.state.notify()


def _compare(context: Context, where: Where) -> None:
    state, squad = context.state, context.state.squad
    if not squad:
        return
    folder, today, mine = squad.folder, context.now().date(), here(context)
    i_step, sides = state.marking.i_step, left_and_right(context)

    def work() -> CompareContent:
        fresh = open_squad(folder, [])
        left, right = (
            RunPlace(VisitPlace(fresh, *at[:2]), at[2], i_step if at == mine else 0) for at in sides
        )
        return compare(left, right, today)

    def done(content: CompareContent) -> None:
        state.compare.content = content
        state.notify()

    def failed(trouble: TapmarkError) -> None:
        state.status = str(trouble)
        state.notify()

    context.jobs.run("compare numbers", lambda task: work(), done, failed, by="run")


def let_other_go(context: Context) -> None:
    """Close the other run's pictures."""
    gallery = context.state.compare.gallery
    if gallery:
        gallery.pictures.close()
        context.state.compare.gallery = None
