"""What can be done on the Frames page: walk through the pictures, choose the key frames."""

from functools import partial

from tapmark.app.action import Action
from tapmark.app.desk import Desk
from tapmark.app.state import AppState
from tapmark.marks.edits import (
    add_step,
    change_frame,
    clear_key_frame,
    clear_turning_mark,
    remove_step,
    set_far_toe_off,
    set_key_frame,
    set_turning_mark,
)
from tapmark.marks.points import EVENTS, TURNING_LIMBS
from tapmark.marks.run import KeyFrame, TurningMark

FAR_TOE_OFF = "far toe-off"


def needs_pictures(desk: Desk) -> str:
    """Why nothing can be shown."""
    return (
        "" if desk.state.gallery and desk.state.run else "Open a clip or a folder of stills first."
    )


def needs_frame(desk: Desk) -> str:
    """Why nothing can be said about the key frame at hand."""
    state = desk.state
    return needs_pictures(desk) or ("" if state.frame else "Choose a key frame first, keys 1 to 5.")


def events_of(state: AppState) -> tuple[str, ...]:
    """Return the key frames of the view that was filmed."""
    return EVENTS[state.run.view] if state.run else EVENTS["side"]


def go_to_picture(desk: Desk, picture: int) -> None:
    """Show a picture; beyond either end the first or last one."""
    state = desk.state
    if state.gallery:
        state.picture = min(max(0, picture), max(0, len(state.gallery.pictures) - 1))
        state.aim = None
        state.said = ""
        state.tell()


def walk(desk: Desk, by: int) -> None:
    """Step on or back by so many pictures."""
    go_to_picture(desk, desk.state.picture + by)


def to_end(desk: Desk, *, last: bool) -> None:
    """Show the first or the last picture."""
    gallery = desk.state.gallery
    go_to_picture(desk, len(gallery.pictures) - 1 if last and gallery else 0)


def choose(desk: Desk, i_event: int) -> None:
    """Take the picture shown for a key frame, or go to that key frame on other pages."""
    state = desk.state
    events = events_of(state)
    if i_event >= len(events):
        return
    if state.page == "frames":
        choose_picture(desk, events[i_event])
    else:
        state.go_to(events[i_event])


def choose_picture(desk: Desk, event: str) -> None:
    """Take the picture shown for a key frame; say what that costs."""
    state = desk.state
    if not state.run or not state.gallery:
        return
    pictures, old = state.gallery.pictures, state.step.key_frame(event)
    changed = set_key_frame(
        state.run,
        state.i_step,
        event,
        state.picture,
        pictures.time_s(state.picture),
        pictures.interval_s(state.picture),
    )
    state.event = event
    state.record(f"{event} on picture {state.picture + 1}", changed)
    dropped = len(old.taps) if old and old.picture != state.picture else 0
    state.said = (
        f"The {dropped} taps on the old picture went with it; tap it again, or undo."
        if dropped
        else ""
    )


def jump(desk: Desk, by: int) -> None:
    """Go to the next or previous key frame that is chosen."""
    state = desk.state
    chosen = sorted({frame.picture for frame in state.step.key_frames})
    ahead = [p for p in chosen if (p > state.picture if by > 0 else p < state.picture)]
    if not ahead:
        state.said = "No key frame in that direction."
        return
    picture = ahead[0] if by > 0 else ahead[-1]
    frame = next(f for f in state.step.key_frames if f.picture == picture)
    state.event = frame.event
    go_to_picture(desk, picture)


def toggle_unsure(desk: Desk) -> None:
    """Say that the key frame could be one picture earlier or later, or that it could not."""
    state = desk.state
    if state.run and state.frame:
        is_unsure = not state.frame.is_unsure
        changed = change_frame(state.run, state.i_step, state.event, is_unsure=is_unsure)
        state.record(f"{'unsure of' if is_unsure else 'sure of'} {state.event}", changed)


def forget(desk: Desk) -> None:
    """Forget the picture of the key frame at hand, with its taps."""
    state = desk.state
    if state.run and state.frame:
        state.record(f"forget {state.event}", clear_key_frame(state.run, state.i_step, state.event))


def choose_far_toe_off(desk: Desk) -> None:
    """Take the picture shown for the far foot's last contact before the step, or forget it."""
    state = desk.state
    if not state.run or not state.gallery:
        return
    pictures, i = state.gallery.pictures, state.picture
    old = state.step.far_toe_off
    is_same = bool(old and old.picture == i)
    frame = (
        None if is_same else KeyFrame(FAR_TOE_OFF, i, pictures.time_s(i), pictures.interval_s(i))
    )
    state.record("far toe-off", set_far_toe_off(state.run, state.i_step, frame))


def plateau(desk: Desk, i_limb: int) -> None:
    """Mark the first, then the last still picture of a limb; a third press begins anew."""
    state = desk.state
    if not state.run or not state.gallery:
        return
    limb, i = TURNING_LIMBS[i_limb], state.picture
    at = state.gallery.pictures.time_s(i)
    old = state.step.turning_mark(limb)
    if old and old.first_picture == old.last_picture != i:
        mark = TurningMark(limb, old.first_picture, i, old.first_s, at)
        state.said = f"{limb.capitalize()}: still from picture {min(old.first_picture, i) + 1}."
    else:
        mark = TurningMark(limb, i, i, at, at)
        state.said = f"{limb.capitalize()}: now press the key again on the last still picture."
    said = state.said
    state.record(f"{limb} still", set_turning_mark(state.run, state.i_step, mark))
    state.said = said


def forget_plateaus(desk: Desk) -> None:
    """Forget every turning mark of the step."""
    state = desk.state
    if state.run:
        run = state.run
        for limb in TURNING_LIMBS:
            run = clear_turning_mark(run, state.i_step, limb)
        state.record("forget turning marks", run)


def another_step(desk: Desk) -> None:
    """Begin another step of the same run."""
    state = desk.state
    if state.run:
        state.record("another step", add_step(state.run))
        state.i_step = len(state.run.steps) - 1
        state.event, state.prompt = events_of(state)[0], None


def next_step(desk: Desk, by: int) -> None:
    """Go to the next or previous step of the run."""
    state = desk.state
    if state.run:
        state.i_step = (state.i_step + by) % len(state.run.steps)
        state.event, state.prompt = events_of(state)[0], None
        state.settle()
        state.tell()


def drop_step(desk: Desk) -> None:
    """Take the step away; undo brings it back."""
    state = desk.state
    if state.run:
        state.record(f"remove step {state.i_step + 1}", remove_step(state.run, state.i_step))
        state.i_step = min(state.i_step, len(state.run.steps) - 1)
        state.settle()


def _needs_steps(desk: Desk) -> str:
    few = not desk.state.run or len(desk.state.run.steps) < 2
    return "This run has one step only." if few else ""


_WALKED = ("film", "frames")
_MARKED = ("frames", "taps", "review")
_LIMB_KEYS = "QWER"

ACTIONS = (
    Action("picture on", "Next picture", partial(walk, by=1), ("Right", "Period"), _WALKED),
    Action("picture back", "Previous picture", partial(walk, by=-1), ("Left", "Comma"), _WALKED),
    Action("ten on", "Ten pictures on", partial(walk, by=10), ("Shift+Right",), _WALKED),
    Action("ten back", "Ten pictures back", partial(walk, by=-10), ("Shift+Left",), _WALKED),
    Action("first picture", "First picture", partial(to_end, last=False), ("Home",), _WALKED),
    Action("last picture", "Last picture", partial(to_end, last=True), ("End",), _WALKED),
    *(
        Action(
            f"key frame {i + 1}",
            f"Key frame {i + 1}: take this picture (Frames), go there (elsewhere)",
            partial(choose, i_event=i),
            (str(i + 1),),
            _MARKED,
            hindrance=needs_pictures,
        )
        for i in range(5)
    ),
    Action("next key frame", "Next chosen key frame", partial(jump, by=1), ("]",), _WALKED),
    Action("last key frame", "Previous chosen key frame", partial(jump, by=-1), ("[",), _WALKED),
    Action("unsure", "Unsure by one picture", toggle_unsure, ("U",), ("frames",), "", needs_frame),
    Action(
        "forget frame", "Forget this key frame", forget, ("Delete",), ("frames",), "", needs_frame
    ),
    Action(
        "far toe-off", "Far toe-off, for the other contact", choose_far_toe_off, ("6",), ("frames",)
    ),
    *(
        Action(
            f"plateau {limb}",
            f"{limb.capitalize()} seems still: first, then last picture",
            partial(plateau, i_limb=i),
            (_LIMB_KEYS[i],),
            ("frames",),
        )
        for i, limb in enumerate(TURNING_LIMBS)
    ),
    Action("forget plateaus", "Forget the turning marks", forget_plateaus, (), ("frames",)),
    Action("another step", "Mark another step of this run", another_step, (), _MARKED),
    Action(
        "next step",
        "Next step",
        partial(next_step, by=1),
        ("Mod+Right",),
        _MARKED,
        "",
        _needs_steps,
    ),
    Action("drop step", "Remove this step", drop_step, (), _MARKED, "", _needs_steps),
)
