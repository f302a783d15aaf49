"""What can be done on the Taps page: answer the prompt, correct it, end a second look."""

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import Any

from tapmark.app.shell.context import Action, Context
from tapmark.app.shell.stepping import ask_for, keep_in_sight, placed
from tapmark.app.shell.why_disabled import needs_frame, refuse_unseen
from tapmark.app.state.prompts import Prompt, may_be_behind, neighbour, next_open
from tapmark.app.state.session import AppState
from tapmark.app.state.titles import travel_words
from tapmark.app.state.viewport import Point
from tapmark.marks.edits import change_frame, look_again, place_tap, refuse_outside, remove_tap
from tapmark.marks.points import CERTAINTIES, OPPOSITE_TOUCHDOWN
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
    prompt, look, i_step = state.marking.prompt, state.marking.look, state.marking.i_step
    if prompt is None:
        return
    refuse_unseen(state, prompt.event, prompt.by)
    if look:
        number = look.number if prompt.by == 0 else 2
        run = look_again(state.the_run, i_step, prompt.event, tap, look=number, by=prompt.by)
    else:
        run = place_tap(state.the_run, i_step, prompt.event, tap)
    state.record(label, run, amend=amend)


def tap_at(context: Context, at: Point) -> None:
    """Mark the point asked for where the coach tapped, and ask for the next one."""
    state = context.state
    why = needs_prompt(context)
    if why or not state.marking.prompt:
        state.status = why
        state.notify()
        return
    prompt = state.marking.prompt
    point, frame = prompt.point, state.step.key_frame(prompt.event)
    is_there = frame is not None and frame.picture + prompt.by < len(state.the_pictures)
    if frame and is_there and state.marking.picture != frame.picture + prompt.by:
        state.go_to(prompt.event, prompt)
        state.status = f"Here is {prompt.event} again, frame {frame.picture + 1}. Tap now."
        state.notify()
        return
    refuse_outside(state.the_run, point, at)
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
    state.marking.aim = None  # a cross-hair that stays would point at another point's place
    if found is None:
        state.marking.prompt = None
        state.status = "Everything is tapped. Review shows what it says."
    elif last is None or (found.event == last.event == state.marking.event and found.by != last.by):
        state.go_to(found.event, found)
    else:
        state.marking.prompt = found
        if found.event != state.marking.event:
            is_other_leg = found.event == OPPOSITE_TOUCHDOWN and not state.marking.look
            wait_ms = OTHER_LEG_MS if is_other_leg else FINISHED_MS
            context.later(wait_ms, lambda: go_at_once(state))
    state.notify()


FINISHED_MS, OTHER_LEG_MS = 700, 1_500
"""How long the finished figure of a key frame stays before the next frame comes."""


def go_at_once(state: AppState) -> bool:
    """Go to the frame that is asked for if the finished figure still stands there."""
    prompt = state.marking.prompt
    if not state.is_pausing or prompt is None:
        return False
    state.go_to(prompt.event, prompt)
    state.notify()
    return True


def without_place(context: Context, certainty: str) -> None:
    """Answer the prompt without a place: hidden, or behind the near knee."""
    prompt = context.state.marking.prompt
    if prompt:
        _put(context.state, Tap(prompt.point, None, certainty), f"{prompt.point}, {certainty}")
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
    state, event = context.state, context.state.marking.event
    if state.frame:
        refuse_unseen(state, event)
        is_blurred = not state.frame.is_blurred
        run = change_frame(state.the_run, state.marking.i_step, event, is_blurred=is_blurred)
        state.record(f"{event} {'blurred' if is_blurred else 'not blurred'}", run)


def go_on(context: Context, by: int) -> None:
    """Go to the next or previous point without marking; its key frame is shown."""
    state, marking = context.state, context.state.marking
    if not state.run:
        return
    found = neighbour(state.run, marking.i_step, marking.prompt, by, again=marking.look)
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
    """Move a placed tap with the pointer; the whole drag is one step to undo.

    It is remembered where the tap was; Escape puts it back there.
    """
    state = context.state
    run, frame = state.run, state.step.key_frame(prompt.event)
    tap = frame.tap(prompt.point) if frame else None
    if run and tap:
        refuse_unseen(state, prompt.event)
        refuse_outside(run, tap.point, at)
        if tap.at_px and not state.marking.dragged:
            state.marking.dragged = prompt, tap.at_px
        changed = place_tap(run, state.marking.i_step, prompt.event, replace(tap, at_px=at))
        state.record(f"move {tap.point}", changed, amend=True)


def end_drag(state: AppState) -> None:
    """Let a dragged tap stay where it is."""
    state.marking.dragged = None
    state.notify()


def take_away(context: Context) -> None:
    """Remove the tap at hand, or the last one placed."""
    state, event = context.state, context.state.marking.event
    if not state.frame or not state.frame.taps:
        return
    at_hand = placed(state)
    point = at_hand.point if at_hand else state.frame.taps[-1].point
    run = remove_tap(state.the_run, state.marking.i_step, event, point)
    state.record(f"remove {point}", run)
    ask_for(state, Prompt(event, point))


SET_WORDS = {"standard": "standard", "contact only": "contact only", "deep look": "extended"}
"""Set of points as the disk names it -> as the window does."""


def choose_tap_set(state: AppState, tap_set: str) -> None:
    """Ask for the standard points, for the contacts only, or for the extended ones."""
    if state.run and tap_set != state.run.tap_set:
        state.record(f"{SET_WORDS[tap_set]} points", replace(state.run, tap_set=tap_set))
        state.settle()


def travel(context: Context, *, back: bool) -> None:
    """Take back the last thing done to this run or visit, or bring back what was undone."""
    context.state.travel(back=back)


def _nothing_to(context: Context, what: str) -> str:
    return "" if travel_words(context.state, what) else f"Nothing to {what}."


def may_hide_behind(context: Context) -> str:
    """Why “behind the near knee” is no answer."""
    why, prompt = needs_prompt(context), context.state.marking.prompt
    is_far_knee = prompt is not None and may_be_behind(prompt.point)
    return why or ("" if is_far_knee else "Only the far knee can be behind the near one.")


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
    squad, marker, today = state.squad, state.run.marked_by, context.today()
    context.jobs.run(
        "card",
        lambda task: own_errors(squad.folder, marker, today),
        lambda rows: context.attempt(lambda: _keep_card(context, squad, marker, rows)),
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


_taps = partial(Action, pages=("taps",), group="Taps")


def _on_taps(
    name: str, label: str, run: Callable[[Context], None], *rest: Any, **more: Any
) -> Action:
    """Return an action of the page: while a finished figure stands there, any key goes on."""

    def go_on_or_do(context: Context) -> None:
        if not go_at_once(context.state):
            run(context)

    return _taps(name, label, go_on_or_do, *rest, **more)


_answer = partial(_on_taps, why_disabled=needs_prompt)
_edit = partial(
    Action, pages=("frames", "taps", "review", "drawing", "film", "sheet"), group="Edit"
)
_hide = partial(without_place, certainty=HIDDEN)
_hide_behind = partial(without_place, certainty=BEHIND)
_undo, _redo = (partial(travel, back=back) for back in (True, False))
ACTIONS = (
    _answer("tap", "Mark the point at the cross-hair", tap_at_aim, ("Return",)),
    _answer("guess", "Guess", guess, ("G",)),
    _answer("hidden", "Hidden", _hide, ("H",)),
    _on_taps("behind", "Behind the near knee", _hide_behind, ("B",), why_disabled=may_hide_behind),
    _on_taps("blurred", "Blurred frame", blurred, ("R",), why_disabled=needs_frame),
    _on_taps("next point", "Next point", partial(go_on, by=1), ("Tab",)),
    _on_taps("last point", "Previous point", partial(go_on, by=-1), ("Shift+Tab",)),
    _on_taps("remove tap", "Remove this tap", take_away, ("Delete",)),
    *(
        _on_taps(
            f"aim {where}{' far' if far > 1 else ''}",
            f"Move {far} px {where}",
            partial(move, dx=dx * far, dy=dy * far),
            (("Shift+" if far > 1 else "") + where.capitalize(),),
            in_menu=False,
        )
        for where, dx, dy in (("left", -1, 0), ("right", 1, 0), ("up", 0, -1), ("down", 0, 1))
        for far in (1, 10)
    ),
    _edit("undo", "Undo", _undo, ("Mod+Z",), why_disabled=partial(_nothing_to, what="undo")),
    _edit(
        "redo",
        "Redo",
        _redo,
        ("Mod+Shift+Z", "Mod+Y"),
        why_disabled=partial(_nothing_to, what="redo"),
    ),
)
