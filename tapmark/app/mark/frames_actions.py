"""What can be done on the Frames page: key frames, turning points, steps, what was seen."""

from collections.abc import Callable
from functools import partial

from tapmark.app.shell.context import Action, Context
from tapmark.app.shell.stepping import LIMB_KEYS, go_to_picture, to_end, walk
from tapmark.app.shell.why_disabled import events_of, needs_frame, needs_gallery
from tapmark.marks.edits import (
    add_step,
    change_frame,
    clear_key_frame,
    clear_turning_mark,
    remove_step,
    set_far_toe_off,
    set_key_frame,
    set_turning_mark,
    tick,
    untick,
)
from tapmark.marks.points import TURNING_LIMBS, TURNS
from tapmark.marks.run import KeyFrame, TurningMark


def choose(context: Context, i_event: int) -> None:
    """Take the frame shown as a key frame, or go to that key frame on other pages."""
    state = context.state
    events = events_of(state)
    if i_event >= len(events):
        return
    if state.page == "frames":
        choose_picture(context, events[i_event])
    else:
        state.go_to(events[i_event])


def choose_picture(context: Context, event: str) -> None:
    """Take the frame shown as a key frame; say which taps that costs."""
    state = context.state
    if not state.run or not state.marking.gallery:
        return
    pictures, old = state.marking.gallery.pictures, state.step.key_frame(event)
    changed = set_key_frame(
        state.run,
        state.marking.i_step,
        event,
        state.marking.picture,
        pictures.time_s(state.marking.picture),
        pictures.interval_s(state.marking.picture),
    )
    state.marking.event = event
    state.record(f"{event} on frame {state.marking.picture + 1}", changed)
    dropped = len(old.taps) if old and old.picture != state.marking.picture else 0
    state.status = (
        f"The {dropped} taps on the old frame went with it; tap it again, or undo."
        if dropped
        else ""
    )


def jump(context: Context, by: int) -> None:
    """Go to the next or previous key frame that is chosen."""
    state = context.state
    chosen = sorted({frame.picture for frame in state.step.key_frames})
    ahead = [
        p for p in chosen if (p > state.marking.picture if by > 0 else p < state.marking.picture)
    ]
    if not ahead:
        state.status = "No key frame in that direction."
        return
    picture = ahead[0] if by > 0 else ahead[-1]
    frame = next(f for f in state.step.key_frames if f.picture == picture)
    state.marking.event = frame.event
    go_to_picture(context, picture)


def toggle_unsure(context: Context) -> None:
    """Say that the key frame could be one frame earlier or later, then two, then neither."""
    state = context.state
    if state.run and state.frame:
        by = (state.frame.unsure_by + 1) % 3
        changed = change_frame(state.run, state.marking.i_step, state.marking.event, unsure_by=by)
        words = ("sure of", "unsure by one of", "unsure by two of")[by]
        state.record(f"{words} {state.marking.event}", changed)


def forget(context: Context) -> None:
    """Forget the key frame at hand, with its taps."""
    state = context.state
    if state.run and state.frame:
        state.record(
            f"forget {state.marking.event}",
            clear_key_frame(state.run, state.marking.i_step, state.marking.event),
        )


_WALKED = ("film", "frames")
_MARKED = ("frames", "taps", "review")


def _walk(name: str, label: str, by: int, *keys: str) -> Action:
    return Action(name, label, partial(walk, by=by), keys, _WALKED, "Frames", needs_gallery)


def _mark(
    name: str,
    label: str,
    run: Callable[[Context], None],
    key: str,
    why_disabled: Callable[[Context], str],
) -> Action:
    keys = (key,) if key else ()
    return Action(name, label, run, keys, ("frames",), "Frames", why_disabled)


FAR_TOE_OFF = "far toe-off"


def choose_far_toe_off(context: Context) -> None:
    """Take the frame shown as the far foot's last contact before the step, or forget it."""
    state = context.state
    if not state.run or not state.marking.gallery:
        return
    pictures, i = state.marking.gallery.pictures, state.marking.picture
    old = state.step.far_toe_off
    is_same = bool(old and old.picture == i)
    frame = (
        None if is_same else KeyFrame(FAR_TOE_OFF, i, pictures.time_s(i), pictures.interval_s(i))
    )
    state.record("far toe-off", set_far_toe_off(state.run, state.marking.i_step, frame))


def plateau(context: Context, i_limb: int) -> None:
    """Mark the first, then the last frame of a limb standing still; a third press begins anew."""
    state = context.state
    if not state.run or not state.marking.gallery:
        return
    limb, i = TURNING_LIMBS[i_limb], state.marking.picture
    at = state.marking.gallery.pictures.time_s(i)
    old = state.step.turning_mark(limb)
    if old and old.first_picture == old.last_picture != i:
        mark = TurningMark(limb, old.first_picture, i, old.first_s, at)
        state.status = f"{_of(limb)}: still from frame {min(old.first_picture, i) + 1}."
    else:
        mark = TurningMark(limb, i, i, at, at)
        state.status = (
            f"{_of(limb)}: now press the key again on the last frame in which it seems still."
        )
    said = state.status
    state.record(f"{limb} still", set_turning_mark(state.run, state.marking.i_step, mark))
    state.status = said


def _of(limb: str) -> str:
    words = TURNS[limb]
    return words[0].upper() + words[1:]


def forget_plateaus(context: Context) -> None:
    """Forget every turning point of the step."""
    state = context.state
    if state.run:
        run = state.run
        for limb in TURNING_LIMBS:
            run = clear_turning_mark(run, state.marking.i_step, limb)
        state.record("forget turning points", run)


def another_step(context: Context) -> None:
    """Begin another step of the same run."""
    state = context.state
    if state.run:
        state.record("another step", add_step(state.run))
        state.marking.i_step = len(state.run.steps) - 1
        state.marking.event, state.marking.prompt = events_of(state)[0], None


def next_step(context: Context, by: int) -> None:
    """Go to the next or previous step of the run."""
    state = context.state
    if state.run:
        state.marking.i_step = (state.marking.i_step + by) % len(state.run.steps)
        state.marking.event, state.marking.prompt = events_of(state)[0], None
        state.settle()
        state.notify()


def drop_step(context: Context) -> None:
    """Take the step away; undo brings it back."""
    state = context.state
    if state.run:
        state.record(
            f"remove step {state.marking.i_step + 1}", remove_step(state.run, state.marking.i_step)
        )
        state.marking.i_step = min(state.marking.i_step, len(state.run.steps) - 1)
        state.settle()


def _needs_steps(context: Context) -> str:
    few = not context.state.run or len(context.state.run.steps) < 2
    return "This run has one step only." if few else ""


_FRAMES = ("frames",)
LEVELS = ("not answered", "no", "a little", "clearly")
ASKED = {
    "side": {
        "foot turns late": "The heel whips round at push-off",
        "form holds": "The shape holds to the end of the run",
    },
    "rear": {
        "hand crosses": "A hand crosses the middle of the body",
        "shoulder line tilts": "The line of the shoulders tilts",
        "shoulders turn": "The shoulders turn more than the hips",
        "foot path": "A foot swings in or out on its way",
    },
}
ASKED["front"] = ASKED["rear"]


def questions_of(view: str) -> dict[str, str]:
    """Return tick -> question for a view."""
    return ASKED.get(view, {})


def answer_of(context: Context, name: str) -> str:
    """Return what was answered for the step at hand."""
    given = dict(context.state.step.ticks)
    return LEVELS[given[name] + 1] if name in given else LEVELS[0]


def see(context: Context, name: str, level: str) -> None:
    """Keep an answer, or take it back."""
    state = context.state
    if not state.run:
        return
    if level == LEVELS[0]:
        state.record(f"no answer: {name}", untick(state.run, state.marking.i_step, name))
    else:
        run = tick(state.run, state.marking.i_step, name, LEVELS.index(level) - 1)
        state.record(f"{name}: {level}", run)


ACTIONS = (
    _walk("picture on", "Next frame", 1, "Right", "Period"),
    _walk("picture back", "Previous frame", -1, "Left", "Comma"),
    _walk("ten on", "Ten frames on", 10, "Shift+Right"),
    _walk("ten back", "Ten frames back", -10, "Shift+Left"),
    Action(
        "first picture",
        "First frame",
        partial(to_end, last=False),
        ("Home",),
        _WALKED,
        "Frames",
        needs_gallery,
    ),
    Action(
        "last picture",
        "Last frame",
        partial(to_end, last=True),
        ("End",),
        _WALKED,
        "Frames",
        needs_gallery,
    ),
    *(
        Action(
            f"key frame {i + 1}",
            f"Key frame {i + 1}: take, or go there",
            partial(choose, i_event=i),
            (str(i + 1),),
            _MARKED,
            "Frames",
            needs_gallery,
            in_menu=False,
        )
        for i in range(5)
    ),
    Action(
        "next key frame",
        "Next chosen key frame",
        partial(jump, by=1),
        ("]",),
        _WALKED,
        "Frames",
        needs_gallery,
    ),
    Action(
        "last key frame",
        "Previous chosen key frame",
        partial(jump, by=-1),
        ("[",),
        _WALKED,
        "Frames",
        needs_gallery,
    ),
    _mark("unsure", "Unsure by one frame, by two, sure", toggle_unsure, "U", needs_frame),
    _mark("forget frame", "Forget this key frame", forget, "Delete", needs_frame),
)
STEP_ACTIONS = (
    Action(
        "far toe-off",
        "Far toe-off (other contact)",
        choose_far_toe_off,
        ("6",),
        _FRAMES,
        "Frames",
        needs_gallery,
    ),
    *(
        Action(
            f"plateau {limb}",
            f"{_of(limb)}: first and last frame in which it seems still",
            partial(plateau, i_limb=i),
            (LIMB_KEYS[i],),
            _FRAMES,
            "Frames",
            needs_gallery,
        )
        for i, limb in enumerate(TURNING_LIMBS)
    ),
    Action(
        "forget plateaus",
        "Forget the turning points",
        forget_plateaus,
        (),
        _FRAMES,
        "Frames",
        needs_gallery,
    ),
    Action(
        "another step",
        "Mark another step",
        another_step,
        ("Mod+T",),
        _MARKED,
        "Frames",
        needs_gallery,
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
