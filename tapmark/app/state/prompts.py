"""What is asked for next, and in which words. Reads a run, changes nothing."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import zip_longest

from tapmark.marks.points import ONLY_DRAWN, SECOND_LOOK, prompts
from tapmark.marks.run import KeyFrame, Run, Step, Tap


@dataclass(frozen=True)
class Prompt:
    """One point on one key frame, or on the frame so many after it."""

    event: str
    point: str
    by: int = 0


@dataclass(frozen=True)
class Look:
    """A later look, the first taps hidden.

    number:  2 for the second one. prompts: what is asked for; empty = the ten of the second look.
    """

    number: int = 2
    prompts: tuple[Prompt, ...] = ()


def asked(
    run: Run, i_step: int, *, again: Look | None = None, even_unset: bool = False
) -> tuple[Prompt, ...]:
    """Return every prompt of a step in order; again = those of the second look.

    even_unset: of key frames too that are not chosen yet; nothing is asked of these so far.
    """
    step = run.steps[i_step]
    if again and again.prompts:
        return again.prompts
    wanted = SECOND_LOOK if again else prompts(run.view, run.tap_set, run.set_up.uses_neck_base)
    return tuple(
        Prompt(event, "neck base" if point == "shoulder" and run.set_up.uses_neck_base else point)
        for event, points in wanted.items()
        if even_unset or step.key_frame(event)
        for point in points
    )


def tap_of(step: Step, prompt: Prompt, *, again: Look | None = None) -> Tap | None:
    """Return the tap that answers a prompt, or None."""
    frame = frame_of(step, prompt.event, again=again, by=prompt.by)
    return frame.tap(prompt.point) if frame else None


def frame_of(step: Step, event: str, *, again: Look | None = None, by: int = 0) -> KeyFrame | None:
    """Return the key frame whose taps count: of the first or of a later look."""
    if again is None:
        return step.key_frame(event)
    return next(iter(step.looks(event, by)[(again.number if by == 0 else 2) - 2 :]), None)


def next_open(
    run: Run, i_step: int, after: Prompt | None = None, *, again: Look | None = None
) -> Prompt | None:
    """Return the first prompt without a tap, looking from the one after `after` and round."""
    every = asked(run, i_step, again=again)
    start = every.index(after) + 1 if after in every else 0
    step = run.steps[i_step]
    return next(
        (p for p in every[start:] + every[:start] if not tap_of(step, p, again=again)), None
    )


def first_open_in(run: Run, i_step: int, event: str, *, again: Look | None = None) -> Prompt | None:
    """Return the first prompt of one key frame that has no tap yet, or None."""
    step = run.steps[i_step]
    mine = (p for p in asked(run, i_step, again=again) if p.event == event)
    return next((p for p in mine if not tap_of(step, p, again=again)), None)


def neighbour(
    run: Run, i_step: int, prompt: Prompt | None, by: int, *, again: Look | None = None
) -> Prompt | None:
    """Return the prompt `by` places on (negative: back), round the end."""
    every = asked(run, i_step, again=again)
    if not every:
        return None
    at = every.index(prompt) if prompt in every else (-1 if by > 0 else 0)
    return every[(at + by) % len(every)]


def counted(
    run: Run, i_step: int, event: str | None = None, *, again: Look | None = None
) -> tuple[int, int]:
    """Return (answered, asked) of a step, or of one of its key frames."""
    every = asked(run, i_step, again=again, even_unset=True)
    mine = [prompt for prompt in every if event in (None, prompt.event)]
    return sum(1 for p in mine if tap_of(run.steps[i_step], p, again=again)), len(mine)


def missing_events(run: Run, i_step: int) -> tuple[str, ...]:
    """Return the key frames that this run needs and are not chosen yet, in order."""
    wanted = prompts(run.view, run.tap_set, run.set_up.uses_neck_base)
    return tuple(event for event in wanted if not run.steps[i_step].key_frame(event))


def shown_run(run: Run | None, i_step: int, *, again: Look | None = None) -> Run:
    """Return the run whose step line is shown: a bare one where none is open.

    During the second look the first taps of what is looked at again are hidden, here too.
    """
    if run is None or not again:
        return run or Run()
    step = run.steps[i_step]
    events = {prompt.event for prompt in asked(run, i_step, again=again)}
    frames = tuple(
        replace(frame, taps=()) if frame.event in events else frame for frame in step.key_frames
    )
    steps = (*run.steps[:i_step], replace(step, key_frames=frames), *run.steps[i_step + 1 :])
    return replace(run, steps=steps)


def changed_at(old: Run, new: Run) -> tuple[int, str, str] | None:
    """Return (step, key frame, point) of the first difference of two runs, to show it.

    The point is "" when the key frame itself changed; None when no key frame differs.
    """
    for i_step, (before, after) in enumerate(zip(old.steps, new.steps, strict=False)):
        for event, point in _differences(before, after):
            return i_step, event, point
    return None


def _differences(before: Step, after: Step) -> Iterator[tuple[str, str]]:
    old = {frame.event: frame for frame in before.key_frames}
    new = {frame.event: frame for frame in after.key_frames}
    pairs = [(old.get(event), new.get(event)) for event in {**old, **new}]
    for one, other in (*pairs, *zip_longest(before.second_look, after.second_look)):
        there = other or one
        if there and one != other:
            yield there.event, _changed_point(one, other)


def _changed_point(old: KeyFrame | None, new: KeyFrame | None) -> str:
    before, after = old.taps if old else (), new.taps if new else ()
    changed = [tap for tap in after if tap not in before] or [t for t in before if t not in after]
    return changed[0].point if changed else ""


_WHERE = {
    "shoulder": "Middle of the joint, where the upper arm turns.",
    "neck base": "Where the collar meets the neck, on the mid-line.",
    "far shoulder": "Middle of the other shoulder, as far as it shows.",
    "elbow": "Middle of the joint, seen from the side.",
    "far elbow": "Middle of the other elbow, as far as it shows.",
    "near wrist": "Middle of the wrist.",
    "hip": "The bony knob on the outside, where the thigh turns; not the belt.",
    "knee": "Middle of the joint, seen from the side.",
    "ankle": "The ankle bone, not the heel.",
    "toe": "The tip of the shoe.",
    "heel": "The back edge of the shoe.",
    "heel centre": "Middle of the heel, seen from behind.",
    "forefoot centre": "Middle of the ball of the foot.",
}


def where(point: str) -> str:
    """Return one sentence that says which spot is meant."""
    return _WHERE.get(point) or _WHERE.get(point.split()[-1], "Middle of the joint.")


def aside(run: Run, prompt: Prompt) -> str:
    """Return the second sentence of a prompt: which side it is, or that it may be left out."""
    if prompt.point in ONLY_DRAWN.get(prompt.event, ()):
        return "Only for the drawing: “Hidden” leaves it out."
    if run.view != "side":
        return "Of the shoe that leaves the ground."
    side = prompt.point.split()[0]
    limb = "arm" if prompt.point.endswith(("elbow", "wrist", "shoulder")) else "leg"
    if side == "near":
        return f"Near is the {run.near_side} {limb} here."
    if may_be_behind(prompt.point):
        return f"Far is the {run.far_side} {limb}. Behind the near knee? B. Hidden elsewhere? H."
    if side == "far":
        return f"Far is the {run.far_side} {limb} here."
    return f"The side towards the camera, {run.near_side} here."


def may_be_behind(point: str) -> bool:
    """Say whether “behind the near knee” is an answer: for the far knee alone."""
    return point == "far knee"
