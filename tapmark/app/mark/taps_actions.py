"""What can be done on the Taps page: answer the prompt, correct it, take the second look."""

from dataclasses import replace
from functools import partial

from tapmark.app.shell.context import Action, Context
from tapmark.app.shell.stepping import ask_for, keep_in_sight, placed
from tapmark.app.shell.why_disabled import needs_frame, refuse_unseen
from tapmark.app.state.prompts import Prompt, may_be_behind, neighbour, next_open
from tapmark.app.state.session import AppState
from tapmark.app.state.viewport import Point
from tapmark.marks.edits import change_frame, look_again, place_tap, refuse_outside, remove_tap
from tapmark.marks.points import CERTAINTIES
from tapmark.marks.run import Tap
from tapmark.services.practising import own_errors, told, with_card
from tapmark.store.choices import OwnError
from tapmark.store.squad import Squad

GUESS, BEHIND, HIDDEN = CERTAINTIES[1:]


def needs_prompt(context: Context) -> str:
    """Why no point can be marked."""
    state = context.state
    if not state.run or not state.step.key_frames:
        return "Choose the five key frames first."
    return (
        "" if state.marking.prompt else "Everything is tapped. Tab goes through the points again."
    )


def _put(state: AppState, tap: Tap, label: str, *, amend: bool = False) -> None:
    """Record a tap of the first or of the second look."""
    prompt, run = state.marking.prompt, state.run
    if prompt and run:
        refuse_unseen(state, prompt.event, prompt.by)
        if state.marking.look:
            number = state.marking.look.number if prompt.by == 0 else 2
            edit = partial(look_again, look=number, by=prompt.by)
        else:
            edit = partial(place_tap)
        state.record(label, edit(run, state.marking.i_step, prompt.event, tap), amend=amend)


def tap_at(context: Context, at: Point) -> None:
    """Mark the point asked for where the coach tapped, and ask for the next one."""
    state = context.state
    why = needs_prompt(context)
    if why or not state.marking.prompt:
        state.status = why
        state.notify()
        return
    point = state.marking.prompt.point
    if state.run:
        refuse_outside(state.run, point, at)
    _put(state, Tap(point, at, state.marking.certainty), point)
    advance(context)


def tap_at_aim(context: Context) -> None:
    """Mark the point at the cross-hair."""
    state = context.state
    if state.marking.aim is None:
        state.status = "Move the cross-hair with the arrow keys first."
        return
    tap_at(context, state.marking.aim)


def advance(context: Context) -> None:
    """Ask for the next open point; go to its key frame when this one is done."""
    state = context.state
    if not state.run:
        return
    last, state.marking.certainty, state.status = state.marking.prompt, "sure", ""
    found = next_open(state.run, state.marking.i_step, last, again=state.marking.look)
    if found is None and state.marking.look:
        finish_second_look(context)
        return
    if found is None:
        state.marking.prompt, state.marking.aim = None, None
        state.status = "Everything is tapped. Review shows what it says."
    elif last is None or (found.event, found.by) != (last.event, last.by):
        state.go_to(found.event, found)
    else:
        state.marking.prompt = found
    state.notify()


def without_place(context: Context, certainty: str) -> None:
    """Answer the prompt without a place: hidden, or behind the near knee."""
    state = context.state
    if state.marking.prompt:
        _put(
            state,
            Tap(state.marking.prompt.point, None, certainty),
            f"{state.marking.prompt.point}, {certainty}",
        )
        advance(context)


def guess(context: Context) -> None:
    """Make the tap at hand a guess, or the next tap when there is none; press again to undo."""
    state = context.state
    tap = placed(state)
    if tap and tap.at_px and state.marking.prompt:
        certainty = "sure" if tap.certainty == GUESS else GUESS
        _put(state, replace(tap, certainty=certainty), f"{tap.point}, {certainty}")
    else:
        state.marking.certainty = "sure" if state.marking.certainty == GUESS else GUESS
    state.notify()


def blurred(context: Context) -> None:
    """Say that the frame is blurred, so that its taps count less; press again to undo."""
    state = context.state
    if state.run and state.frame:
        refuse_unseen(state, state.marking.event)
        is_blurred = not state.frame.is_blurred
        run = change_frame(
            state.run, state.marking.i_step, state.marking.event, is_blurred=is_blurred
        )
        state.record(f"{state.marking.event} {'blurred' if is_blurred else 'not blurred'}", run)


def go_on(context: Context, by: int) -> None:
    """Go to the next or previous point without marking; its key frame is shown."""
    state = context.state
    if not state.run:
        return
    found = neighbour(
        state.run, state.marking.i_step, state.marking.prompt, by, again=state.marking.look
    )
    if found:
        ask_for(state, found)


def move(context: Context, dx: int, dy: int) -> None:
    """Nudge the tap at hand, or move the cross-hair when the point is still open."""
    state = context.state
    if not state.run or not state.marking.prompt:
        return
    tap = placed(state)
    start = (tap.at_px if tap and tap.at_px else state.marking.aim) or _somewhere(state)
    w, h = state.run.source.size_px
    at = min(max(0.0, start[0] + dx), float(w)), min(max(0.0, start[1] + dy), float(h))
    state.marking.aim = at
    keep_in_sight(state)
    if tap and tap.at_px:
        _put(state, replace(tap, at_px=at), f"move {tap.point}", amend=True)
    state.notify()


def _somewhere(state: AppState) -> Point:
    """Begin at the last tap of this frame, else in the middle of what is seen."""
    frame = state.frame
    places = [tap.at_px for tap in frame.taps if tap.at_px] if frame else []
    if places:
        return int(places[-1][0]) + 0.5, int(places[-1][1]) + 0.5
    x, y = state.viewport().middle
    return int(x) + 0.5, int(y) + 0.5


def nearest_tap(state: AppState, at: Point, reach: float) -> Prompt | None:
    """Return the placed point nearest to a place, within reach, frame px."""
    run, frame = state.run, state.frame
    if not run or not frame or state.marking.look:
        return None
    near = [
        ((tap.at_px[0] - at[0]) ** 2 + (tap.at_px[1] - at[1]) ** 2, tap.point)
        for tap in frame.taps
        if tap.at_px
    ]
    close = [each for each in near if each[0] <= reach * reach]
    return Prompt(state.marking.event, min(close)[1]) if close else None


def drag(context: Context, prompt: Prompt, at: Point) -> None:
    """Move a placed tap with the pointer; the whole drag is one step to undo."""
    state = context.state
    run, frame = state.run, state.step.key_frame(prompt.event)
    tap = frame.tap(prompt.point) if frame else None
    if run and tap:
        refuse_unseen(state, prompt.event)
        refuse_outside(run, tap.point, at)
        changed = place_tap(run, state.marking.i_step, prompt.event, replace(tap, at_px=at))
        state.record(f"move {tap.point}", changed, amend=True)


def take_away(context: Context) -> None:
    """Remove the tap at hand, or the last one placed."""
    state = context.state
    run, frame = state.run, state.frame
    if not run or not frame or not frame.taps:
        return
    at_hand = placed(state)
    point = at_hand.point if at_hand else frame.taps[-1].point
    state.record(
        f"remove {point}", remove_tap(run, state.marking.i_step, state.marking.event, point)
    )
    ask_for(state, Prompt(state.marking.event, point))


SET_WORDS = {"standard": "standard", "contact only": "contact only", "deep look": "extended"}
"""Set of points as the disk names it -> as the window does."""


def choose_tap_set(state: AppState, tap_set: str) -> None:
    """Ask for the standard points, for the contacts only, or for the extended ones."""
    if state.run and tap_set != state.run.tap_set:
        state.record(f"{SET_WORDS[tap_set]} points", replace(state.run, tap_set=tap_set))
        state.settle()


def undo(context: Context) -> None:
    """Take back the last thing done to this run or visit."""
    context.state.travel(back=True)


def redo(context: Context) -> None:
    """Bring back what was undone."""
    context.state.travel(back=False)


def _nothing_to_undo(context: Context) -> str:
    history = context.state.history
    return "" if history and history.undo_label else "Nothing to undo."


def _nothing_to_redo(context: Context) -> str:
    history = context.state.history
    return "" if history and history.redo_label else "Nothing to redo."


def may_hide_behind(context: Context) -> str:
    """Why “behind the near knee” is no answer."""
    prompt = context.state.marking.prompt
    is_far_knee = prompt is not None and may_be_behind(prompt.point)
    return (
        ""
        if is_far_knee
        else needs_prompt(context) or "Only the far knee can be behind the near one."
    )


_TAPS = ("taps",)
_MARKED = ("frames", "taps", "review", "film", "sheet")
_hide = partial(without_place, certainty=HIDDEN)
_hide_behind = partial(without_place, certainty=BEHIND)


def finish_second_look(context: Context) -> None:
    """End the second look, say what it says, and renew the card beside the window."""
    state = context.state
    state.marking.look = None
    if not state.run or not state.squad:
        return
    context.go("review")
    state.status = told(state.run)
    if not context.saver.flush():
        return
    squad, marker, today = state.squad, state.run.marked_by, context.now().date()

    def done(rows: tuple[OwnError, ...]) -> None:
        context.attempt(lambda: _keep_card(context, squad, marker, rows))

    context.jobs.run(
        "card",
        lambda task: own_errors(squad.folder, marker, today),
        done,
        context.failed,
        by="window",
    )


def _keep_card(context: Context, squad: Squad, marker: str, rows: tuple[OwnError, ...]) -> None:
    """Keep the card with the squad whose taps it comes from, open or not."""
    state = context.state
    is_open = state.squad is not None and state.squad.folder == squad.folder
    own = state.squad if is_open and state.squad else squad
    choices = own.choices if is_open else own.reload_choices()
    new = with_card(choices, marker, rows)
    if new != choices:
        own.save_choices(new)
    if is_open:
        state.review.read_of = None  # the doubt of every measure is another one now


ACTIONS = (
    Action(
        "tap",
        "Mark the point at the cross-hair",
        tap_at_aim,
        ("Return", "Space"),
        _TAPS,
        "Taps",
        needs_prompt,
    ),
    Action("guess", "Guess", guess, ("G",), _TAPS, "Taps", needs_prompt),
    Action("hidden", "Hidden", _hide, ("H",), _TAPS, "Taps", needs_prompt),
    Action("behind", "Behind the near knee", _hide_behind, ("B",), _TAPS, "Taps", may_hide_behind),
    Action("blurred", "Blurred frame", blurred, ("R",), _TAPS, "Taps", needs_frame),
    Action("next point", "Next point", partial(go_on, by=1), ("Tab",), _TAPS, "Taps"),
    Action("last point", "Previous point", partial(go_on, by=-1), ("Shift+Tab",), _TAPS, "Taps"),
    Action("remove tap", "Remove this tap", take_away, ("Delete",), _TAPS, "Taps"),
    *(
        Action(
            f"aim {where}{' far' if far > 1 else ''}",
            f"Move {far} px {where}",
            partial(move, dx=dx * far, dy=dy * far),
            (("Shift+" if far > 1 else "") + where.capitalize(),),
            _TAPS,
            "Taps",
            in_menu=False,
        )
        for where, dx, dy in (("left", -1, 0), ("right", 1, 0), ("up", 0, -1), ("down", 0, 1))
        for far in (1, 10)
    ),
    Action("undo", "Undo", undo, ("Mod+Z",), _MARKED, "Edit", _nothing_to_undo),
    Action("redo", "Redo", redo, ("Mod+Shift+Z", "Mod+Y"), _MARKED, "Edit", _nothing_to_redo),
)
