"""What can be done on the Frames page: key frames, turning points, steps, what was seen."""

from functools import partial

from tapmark.app.shell.context import Action, Context
from tapmark.app.shell.stepping import BENCH, LIMB_KEYS, go_to_picture
from tapmark.app.shell.why_disabled import events_of, needs_clip, needs_frame, unless
from tapmark.app.state.session import AppState
from tapmark.marks.days import several
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
        choose_picture(state, events[i_event])
    else:
        state.go_to(events[i_event])


def choose_picture(state: AppState, event: str) -> None:
    """Take the frame shown as a key frame; where that costs taps, once more to be sure."""
    pictures, old = state.the_pictures, state.step.key_frame(event)
    i, i_step = state.marking.picture, state.marking.i_step
    n = len(old.taps) if old and old.picture != i else 0
    if old and n and state.marking.sure != (event, i):
        state.marking.sure = event, i
        state.status = (
            f"Frame {i + 1} for {event}? {several(n, 'tap')} on frame {old.picture + 1} would go. "
            "Take it again to be sure, or Escape."
        )
        return
    times = pictures.time_s(i), pictures.interval_s(i)
    state.marking.event, state.marking.sure = event, None
    changed = set_key_frame(state.the_run, i_step, event, i, *times)
    state.record(f"{event} on frame {i + 1}", changed)
    state.status = f"{several(n, 'tap')} went with the old frame; undo brings them back." * bool(n)


def wanted(state: AppState) -> str:
    """Return the key frame that is looked for: the first one not taken, else the one at hand."""
    events = events_of(state)
    unset = [event for event in events if not state.step.key_frame(event)]
    return unset[0] if unset else state.marking.event or events[0]


def take_wanted(context: Context) -> None:
    """Take the frame shown as the key frame that is looked for; go on once all are taken."""
    state = context.state
    if all(state.step.key_frame(event) for event in events_of(state)):
        context.go("taps")
    else:
        choose_picture(state, wanted(state))


def jump(context: Context, by: int) -> None:
    """Go to the next or previous key frame that is chosen."""
    state, here = context.state, context.state.marking.picture
    ahead = [f for f in state.step.key_frames if (f.picture - here) * by > 0]
    if not ahead:
        state.status = "No key frame in that direction."
        return
    frame = min(ahead, key=lambda frame: abs(frame.picture - here))
    state.marking.event = frame.event
    go_to_picture(state, frame.picture)


def toggle_unsure(context: Context) -> None:
    """Say that the key frame could be one frame earlier or later, then two, then neither."""
    state, event = context.state, context.state.marking.event
    if state.frame:
        by = (state.frame.unsure_by + 1) % 3
        words = ("sure of", "unsure by one of", "unsure by two of")[by]
        changed = change_frame(state.the_run, state.marking.i_step, event, unsure_by=by)
        state.record(f"{words} {event}", changed)


def forget(context: Context) -> None:
    """Forget the key frame at hand, with its taps."""
    state, event = context.state, context.state.marking.event
    state.record(f"forget {event}", clear_key_frame(state.the_run, state.marking.i_step, event))


def choose_far_toe_off(context: Context) -> None:
    """Take the frame shown as the far foot's last contact before the step, or forget it."""
    state, pictures, i = context.state, context.state.the_pictures, context.state.marking.picture
    frame, old = None, state.step.far_toe_off
    if old is None or old.picture != i:
        frame = KeyFrame("far toe-off", i, pictures.time_s(i), pictures.interval_s(i))
    state.record("far toe-off", set_far_toe_off(state.the_run, state.marking.i_step, frame))


def plateau(context: Context, i_limb: int) -> None:
    """Mark the first, then the last frame of a limb standing still; a third press begins anew."""
    state, limb, i = context.state, TURNING_LIMBS[i_limb], context.state.marking.picture
    at, old = state.the_pictures.time_s(i), state.step.turning_mark(limb)
    if old and old.first_picture == old.last_picture != i:
        mark = TurningMark(limb, old.first_picture, i, old.first_s, at)
        status = f"still from frame {min(old.first_picture, i) + 1}."
    else:
        mark = TurningMark(limb, i, i, at, at)
        status = "now press the key again on the last frame in which it seems still."
    state.record(f"{limb} still", set_turning_mark(state.the_run, state.marking.i_step, mark))
    state.status = f"{_of(limb)}: {status}"


def _of(limb: str) -> str:
    words = TURNS[limb]
    return words[0].upper() + words[1:]


def forget_plateaus(context: Context) -> None:
    """Forget every turning point of the step."""
    run = context.state.the_run
    for limb in TURNING_LIMBS:
        run = clear_turning_mark(run, context.state.marking.i_step, limb)
    context.state.record("forget turning points", run)


def another_step(context: Context) -> None:
    """Begin another step of the same run."""
    state = context.state
    state.record("another step", add_step(state.the_run))
    state.marking.i_step = len(state.the_run.steps) - 1
    state.marking.event, state.marking.prompt = events_of(state)[0], None


def next_step(context: Context, by: int) -> None:
    """Go to the next or previous step of the run."""
    state = context.state
    state.marking.i_step = (state.marking.i_step + by) % len(state.the_run.steps)
    state.marking.event = events_of(state)[0]
    state.settle()


def drop_step(context: Context) -> None:
    """Take the step away; undo brings it back."""
    state, i_step = context.state, context.state.marking.i_step
    state.record(f"remove step {i_step + 1}", remove_step(state.the_run, i_step))
    state.marking.i_step = min(i_step, len(state.the_run.steps) - 1)
    state.settle()


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


def answer_of(state: AppState, name: str) -> str:
    """Return what was answered for the step at hand."""
    given = dict(state.step.ticks)
    return LEVELS[given[name] + 1] if name in given else LEVELS[0]


def see(state: AppState, name: str, level: str) -> None:
    """Keep an answer, or take it back."""
    run, i_step = state.the_run, state.marking.i_step
    if level == LEVELS[0]:
        state.record(f"no answer: {name}", untick(run, i_step, name))
    else:
        state.record(f"{name}: {level}", tick(run, i_step, name, LEVELS.index(level) - 1))


_bench = partial(Action, pages=BENCH, group="Frames", why_disabled=needs_clip)
_walked = partial(_bench, pages=("film", "frames"))
_on_frames = partial(_bench, pages=("frames",))
_of_frame = partial(_on_frames, why_disabled=needs_frame)
_needs_steps = unless(
    "This run has one step only.", lambda c: c.state.run and len(c.state.run.steps) > 1
)
_of_steps = partial(_bench, why_disabled=_needs_steps)
ACTIONS = (
    *(
        _bench(
            f"key frame {i + 1}",
            f"Key frame {i + 1}: take, or go there",
            partial(choose, i_event=i),
            (str(i + 1),),
            in_menu=False,
        )
        for i in range(5)
    ),
    _walked("next key frame", "Next chosen key frame", partial(jump, by=1), ("]",)),
    _walked("last key frame", "Previous chosen key frame", partial(jump, by=-1), ("[",)),
    _on_frames("take", "Take what is looked for", take_wanted, ("Return",)),
    _of_frame("unsure", "Unsure by one frame, by two, sure", toggle_unsure, ("U",)),
    _of_frame("forget frame", "Forget this key frame", forget, ("Delete",)),
)
STEP_ACTIONS = (
    _on_frames("far toe-off", "Far toe-off (other contact)", choose_far_toe_off, ("6",)),
    *(
        _on_frames(
            f"plateau {limb}",
            f"{_of(limb)}: first and last frame in which it seems still",
            partial(plateau, i_limb=i),
            (LIMB_KEYS[i],),
        )
        for i, limb in enumerate(TURNING_LIMBS)
    ),
    _on_frames("forget plateaus", "Forget the turning points", forget_plateaus),
    _bench("another step", "Mark another step", another_step, ("Mod+T",)),
    _of_steps("next step", "Next step", partial(next_step, by=1), ("Mod+Right",)),
    _of_steps("drop step", "Remove this step", drop_step),
)
