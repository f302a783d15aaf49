"""More on the Frames page: turning marks, the far toe-off, and several steps in one run."""

from functools import partial

from tapmark.app.action import Action
from tapmark.app.desk import Desk
from tapmark.app.frame_deeds import events_of, needs_pictures
from tapmark.marks.edits import (
    add_step,
    clear_turning_mark,
    remove_step,
    set_far_toe_off,
    set_turning_mark,
)
from tapmark.marks.points import TURNING_LIMBS, TURNS
from tapmark.marks.run import KeyFrame, TurningMark

FAR_TOE_OFF = "far toe-off"
LIMB_KEYS = "QWER"


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
        state.said = f"{_of(limb)}: still from picture {min(old.first_picture, i) + 1}."
    else:
        mark = TurningMark(limb, i, i, at, at)
        state.said = f"{_of(limb)}: now press the key again on the last still picture."
    said = state.said
    state.record(f"{limb} still", set_turning_mark(state.run, state.i_step, mark))
    state.said = said


def _of(limb: str) -> str:
    words = TURNS[limb]
    return words[0].upper() + words[1:]


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


_FRAMES = ("frames",)
_MARKED = ("frames", "taps", "review")

ACTIONS = (
    Action(
        "far toe-off",
        "Far toe-off (other contact)",
        choose_far_toe_off,
        ("6",),
        _FRAMES,
        "Frames",
        needs_pictures,
    ),
    *(
        Action(
            f"plateau {limb}",
            f"{_of(limb)}: first and last still picture",
            partial(plateau, i_limb=i),
            (LIMB_KEYS[i],),
            _FRAMES,
            "Frames",
            needs_pictures,
        )
        for i, limb in enumerate(TURNING_LIMBS)
    ),
    Action(
        "forget plateaus",
        "Forget the turning marks",
        forget_plateaus,
        (),
        _FRAMES,
        "Frames",
        needs_pictures,
    ),
    Action(
        "another step",
        "Mark another step",
        another_step,
        ("Mod+T",),
        _MARKED,
        "Frames",
        needs_pictures,
    ),
    Action(
        "next step",
        "Next step",
        partial(next_step, by=1),
        ("Mod+Right",),
        _MARKED,
        "Frames",
        _needs_steps,
    ),
    Action("drop step", "Remove this step", drop_step, (), _MARKED, "Frames", _needs_steps),
)
