"""Walking through the frames of a run, to the point asked for and to what may be a slip."""

from tapmark.app.shell.context import Context
from tapmark.app.state.prompts import Prompt, asked, tap_of
from tapmark.app.state.session import AppState
from tapmark.marks.run import Run, Tap
from tapmark.measures.compute import measure_run
from tapmark.measures.result import MarkingCheck


def go_to_picture(state: AppState, picture: int) -> None:
    """Show a frame; beyond either end the first or last one."""
    if state.pictures is not None:
        state.marking.picture = min(max(0, picture), max(0, len(state.pictures) - 1))
        state.marking.aim = None
        state.status = ""
        state.notify()


def walk(context: Context, by: int) -> None:
    """Step on or back by so many frames."""
    go_to_picture(context.state, context.state.marking.picture + by)


def to_end(context: Context, *, last: bool) -> None:
    """Show the first or the last frame."""
    go_to_picture(context.state, len(context.state.the_pictures) - 1 if last else 0)


def placed(state: AppState) -> Tap | None:
    """Return the tap that answers the prompt at hand, if there is one."""
    if not state.marking.prompt or not state.run:
        return None
    return tap_of(state.step, state.marking.prompt, again=state.marking.look)


def ask_for(state: AppState, prompt: Prompt) -> None:
    """Ask for a point; the cross-hair goes to its tap if it has one."""
    by = state.marking.prompt.by if state.marking.prompt else 0
    if (prompt.event, prompt.by) == (state.marking.event, by):
        state.marking.prompt = prompt
    else:
        state.go_to(prompt.event, prompt)
    tap = placed(state)
    state.marking.aim = tap.at_px if tap else None
    keep_in_sight(state)
    state.status = ""
    state.notify()


def keep_in_sight(state: AppState) -> None:
    """Move a zoomed frame just enough that the cross-hair is seen."""
    if state.marking.aim:
        view = state.viewport()
        shown = view.showing(state.marking.aim)
        if shown != view:
            state.look_through(shown)


LIMB_KEYS = "QWER"
CHECK_MS = 180  # slips are looked for when the hand pauses, so that no tap waits for it


def check_again(context: Context) -> None:
    """Look for slips in the run at hand, beside the window; nothing new, no work."""
    state = context.state
    run = state.run
    if run is None or run is state.review.checked:
        return
    state.review.checked = run
    context.later(CHECK_MS, lambda: _check(context, run))


def _check(context: Context, run: Run) -> None:
    """Measure the run if it is still the one at hand."""
    state = context.state
    if run is not state.run:
        return

    def done(checks: tuple[MarkingCheck, ...]) -> None:
        if checks != state.review.checks:
            state.review.checks = checks
            state.notify()

    context.jobs.run("checks", lambda task: measure_run(run).checks, done, context.failed, by="run")


def look_at_check(context: Context) -> None:
    """Go to the place of the marking check that comes next in the run."""
    state = context.state
    named = with_place(state)
    if not named:
        state.status = "No marking check names a place."
        return
    here = [i for i, check in enumerate(named) if _is_here(state, check)]
    to_check(context, named[(here[0] + 1) % len(named) if here else 0])


def with_place(state: AppState) -> list[MarkingCheck]:
    """Return the checks that name a place: on Frames those of a key frame, elsewhere all."""
    on_frames = state.page == "frames"
    return [c for c in state.review.checks if c.event and not (on_frames and c.point)]


def _is_here(state: AppState, check: MarkingCheck) -> bool:
    prompt = state.marking.prompt
    if state.page == "frames":
        return state.marking.event == check.event
    return prompt is not None and (prompt.event, prompt.point) == (check.event, check.point)


def to_check(context: Context, check: MarkingCheck) -> None:
    """Go to the point that a marking check speaks of; on Frames, to its frame."""
    state, run = context.state, context.state.the_run
    i_step = state.marking.i_step = min(check.i_step, len(run.steps) - 1)
    if state.page == "frames":
        state.go_to(check.event)
        return
    context.go("taps")
    points = [p.point for p in asked(run, i_step) if p.event == check.event]
    point = check.point or next(iter(points), "")
    if point:
        ask_for(state, Prompt(check.event, point))
    else:
        state.go_to(check.event)
