"""What can be done on the Taps page: answer the prompt at hand, and change one's mind."""

from dataclasses import replace
from functools import partial

from tapmark.app.action import Action
from tapmark.app.card_deeds import finish_second_look
from tapmark.app.desk import Desk
from tapmark.app.frame_deeds import needs_frame
from tapmark.app.prompting import Prompt, may_be_behind, neighbour, next_open, tap_of
from tapmark.app.seen import refuse_unseen
from tapmark.app.state import AppState
from tapmark.app.viewport import Point
from tapmark.marks.edits import change_frame, look_again, place_tap, refuse_outside, remove_tap
from tapmark.marks.points import CERTAINTIES
from tapmark.marks.run import Tap

GUESS, BEHIND, HIDDEN = CERTAINTIES[1:]


def needs_prompt(desk: Desk) -> str:
    """Why no point can be marked."""
    state = desk.state
    if not state.run or not state.step.key_frames:
        return "Choose the five key frames first."
    return "" if state.prompt else "Everything is tapped. Tab goes through the points again."


def _put(state: AppState, tap: Tap, label: str, *, amend: bool = False) -> None:
    """Record a tap of the first or of the second look."""
    prompt, run = state.prompt, state.run
    if prompt and run:
        refuse_unseen(state, prompt.event, prompt.by)
        if state.look:
            number = state.look.number if prompt.by == 0 else 2
            edit = partial(look_again, look=number, by=prompt.by)
        else:
            edit = partial(place_tap)
        state.record(label, edit(run, state.i_step, prompt.event, tap), amend=amend)


def tap_at(desk: Desk, at: Point) -> None:
    """Mark the point asked for where the coach tapped, and ask for the next one."""
    state = desk.state
    why = needs_prompt(desk)
    if why or not state.prompt:
        state.said = why
        state.tell()
        return
    point = state.prompt.point
    if state.run:
        refuse_outside(state.run, point, at)
    _put(state, Tap(point, at, state.certainty), point)
    advance(desk)


def tap_at_aim(desk: Desk) -> None:
    """Mark the point at the cross-hair."""
    state = desk.state
    if state.aim is None:
        state.said = "Move the cross-hair with the arrow keys first."
        return
    tap_at(desk, state.aim)


def advance(desk: Desk) -> None:
    """Ask for the next open point; go to its key frame when this one is done."""
    state = desk.state
    if not state.run:
        return
    last, state.certainty, state.said = state.prompt, "sure", ""
    found = next_open(state.run, state.i_step, last, again=state.look)
    if found is None and state.look:
        finish_second_look(desk)
        return
    if found is None:
        state.prompt, state.aim = None, None
        state.said = "Everything is tapped. Review shows what it says."
    elif last is None or (found.event, found.by) != (last.event, last.by):
        state.go_to(found.event, found)
    else:
        state.prompt = found
    state.tell()


def without_place(desk: Desk, certainty: str) -> None:
    """Answer the prompt without a place: hidden, or behind the near knee."""
    state = desk.state
    if state.prompt:
        _put(state, Tap(state.prompt.point, None, certainty), f"{state.prompt.point}, {certainty}")
        advance(desk)


def guess(desk: Desk) -> None:
    """Make the tap at hand a guess, or the next tap when there is none; press again to undo."""
    state = desk.state
    tap = placed(state)
    if tap and tap.at_px and state.prompt:
        certainty = "sure" if tap.certainty == GUESS else GUESS
        _put(state, replace(tap, certainty=certainty), f"{tap.point}, {certainty}")
    else:
        state.certainty = "sure" if state.certainty == GUESS else GUESS
    state.tell()


def placed(state: AppState) -> Tap | None:
    """Return the tap that answers the prompt at hand, if there is one."""
    if not state.prompt or not state.run:
        return None
    return tap_of(state.step, state.prompt, again=state.look)


def blurred(desk: Desk) -> None:
    """Say that the picture is blurred, so that its taps count less; press again to undo."""
    state = desk.state
    if state.run and state.frame:
        refuse_unseen(state, state.event)
        is_blurred = not state.frame.is_blurred
        run = change_frame(state.run, state.i_step, state.event, is_blurred=is_blurred)
        state.record(f"{state.event} {'blurred' if is_blurred else 'not blurred'}", run)


def go_on(desk: Desk, by: int) -> None:
    """Go to the next or previous point without marking; its key frame is shown."""
    state = desk.state
    if not state.run:
        return
    found = neighbour(state.run, state.i_step, state.prompt, by, again=state.look)
    if found:
        ask_for(state, found)


def ask_for(state: AppState, prompt: Prompt) -> None:
    """Ask for a point; the cross-hair goes to its tap if it has one."""
    if prompt.event == state.event and prompt.by == (state.prompt.by if state.prompt else 0):
        state.prompt = prompt
    else:
        state.go_to(prompt.event, prompt)
    tap = placed(state)
    state.aim = tap.at_px if tap else None
    keep_in_sight(state)
    state.said = ""
    state.tell()


def keep_in_sight(state: AppState) -> None:
    """Move a zoomed picture just enough that the cross-hair is seen."""
    if state.aim:
        view = state.viewport()
        shown = view.showing(state.aim)
        if shown != view:
            state.look_through(shown)


def move(desk: Desk, dx: int, dy: int) -> None:
    """Nudge the tap at hand, or move the cross-hair when the point is still open."""
    state = desk.state
    if not state.run or not state.prompt:
        return
    tap = placed(state)
    start = (tap.at_px if tap and tap.at_px else state.aim) or _somewhere(state)
    w, h = state.run.source.size_px
    at = min(max(0.0, start[0] + dx), float(w)), min(max(0.0, start[1] + dy), float(h))
    state.aim = at
    keep_in_sight(state)
    if tap and tap.at_px:
        _put(state, replace(tap, at_px=at), f"move {tap.point}", amend=True)
    state.tell()


def _somewhere(state: AppState) -> Point:
    """Begin at the last tap of this picture, else in the middle of what is seen."""
    frame = state.frame
    places = [tap.at_px for tap in frame.taps if tap.at_px] if frame else []
    if places:
        return int(places[-1][0]) + 0.5, int(places[-1][1]) + 0.5
    x, y = state.viewport().middle
    return int(x) + 0.5, int(y) + 0.5


def nearest_tap(state: AppState, at: Point, reach: float) -> Prompt | None:
    """Return the placed point nearest to a place, within reach px of the picture."""
    run, frame = state.run, state.frame
    if not run or not frame or state.look:
        return None
    near = [
        ((tap.at_px[0] - at[0]) ** 2 + (tap.at_px[1] - at[1]) ** 2, tap.point)
        for tap in frame.taps
        if tap.at_px
    ]
    close = [each for each in near if each[0] <= reach * reach]
    return Prompt(state.event, min(close)[1]) if close else None


def drag(desk: Desk, prompt: Prompt, at: Point) -> None:
    """Move a placed tap with the pointer; the whole drag is one step to undo."""
    state = desk.state
    run, frame = state.run, state.step.key_frame(prompt.event)
    tap = frame.tap(prompt.point) if frame else None
    if run and tap:
        refuse_unseen(state, prompt.event)
        refuse_outside(run, tap.point, at)
        changed = place_tap(run, state.i_step, prompt.event, replace(tap, at_px=at))
        state.record(f"move {tap.point}", changed, amend=True)


def take_away(desk: Desk) -> None:
    """Remove the tap at hand, or the last one placed."""
    state = desk.state
    run, frame = state.run, state.frame
    if not run or not frame or not frame.taps:
        return
    at_hand = placed(state)
    point = at_hand.point if at_hand else frame.taps[-1].point
    state.record(f"remove {point}", remove_tap(run, state.i_step, state.event, point))
    ask_for(state, Prompt(state.event, point))


def choose_tap_set(desk: Desk, tap_set: str) -> None:
    """Ask for the standard points, for the contacts only, or for a deep look."""
    state = desk.state
    if state.run and tap_set != state.run.tap_set:
        state.record(f"{tap_set} points", replace(state.run, tap_set=tap_set))
        state.settle()


def undo(desk: Desk) -> None:
    """Take back the last thing done to this run or visit."""
    desk.state.travel(back=True)


def redo(desk: Desk) -> None:
    """Bring back what was undone."""
    desk.state.travel(back=False)


def _nothing_to_undo(desk: Desk) -> str:
    history = desk.state.history
    return "" if history and history.undo_label else "Nothing to undo."


def _nothing_to_redo(desk: Desk) -> str:
    history = desk.state.history
    return "" if history and history.redo_label else "Nothing to redo."


def may_hide_behind(desk: Desk) -> str:
    """Why “behind the near knee” is no answer."""
    prompt = desk.state.prompt
    is_far_knee = prompt is not None and may_be_behind(prompt.point)
    return (
        "" if is_far_knee else needs_prompt(desk) or "Only the far knee can be behind the near one."
    )


_TAPS = ("taps",)
_MARKED = ("frames", "taps", "review", "film", "sheet")
_hide = partial(without_place, certainty=HIDDEN)
_hide_behind = partial(without_place, certainty=BEHIND)

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
    Action("behind", "Behind near knee", _hide_behind, ("B",), _TAPS, "Taps", may_hide_behind),
    Action("blurred", "Blurred picture", blurred, ("R",), _TAPS, "Taps", needs_frame),
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
