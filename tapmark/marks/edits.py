"""Run in, Run out: one pure function for each thing a person does to a run.

Nothing is checked twice: an edit refuses what can never be right (order of key frames, a tap
outside the frame) with a MarkError; everything doubtful is a marking check in measures.
"""

from dataclasses import replace

from tapmark.errors import KeyFramesOutOfOrder, NothingToDraw, NothingToMark, TapOutside
from tapmark.marks.points import (
    EVENTS,
    MID_STANCE,
    OPPOSITE_TOUCHDOWN,
    PEAK_KNEE_LIFT,
    TOE_OFF,
    TOUCHDOWN,
)
from tapmark.marks.run import (
    ANGLE,
    NOTE,
    PATH_POINTS,
    FreeMark,
    KeyFrame,
    Path,
    Place,
    Point,
    Run,
    Step,
    Tap,
    TurningMark,
)

_STRICTLY_BEFORE = (
    (TOUCHDOWN, MID_STANCE),
    (MID_STANCE, TOE_OFF),
    (TOE_OFF, OPPOSITE_TOUCHDOWN),
    (MID_STANCE, PEAK_KNEE_LIFT),
    (PEAK_KNEE_LIFT, OPPOSITE_TOUCHDOWN),
    (TOUCHDOWN, TOE_OFF),
    (TOUCHDOWN, PEAK_KNEE_LIFT),
    (TOUCHDOWN, OPPOSITE_TOUCHDOWN),
    (MID_STANCE, OPPOSITE_TOUCHDOWN),
)


def set_key_frame(
    run: Run,
    i_step: int,
    event: str,
    picture: int,
    time_s: float | None = None,
    interval_s: float | None = None,
) -> Run:
    """Choose a picture for an event; taps and second look of another picture are dropped with it.

    Raises KeyFramesOutOfOrder when the order of the step would be impossible.
    """
    old = run.steps[i_step].key_frame(event)
    if old and old.picture == picture:
        return _put_frame(run, i_step, replace(old, time_s=time_s, interval_s=interval_s))
    forgotten = _forget_second_look(run, i_step, event)
    changed = _put_frame(forgotten, i_step, KeyFrame(event, picture, time_s, interval_s))
    refuse_impossible_order(changed.steps[i_step])
    return changed


def clear_key_frame(run: Run, i_step: int, event: str) -> Run:
    """Forget the picture chosen for an event, with its taps and its second look."""
    forgotten = _forget_second_look(run, i_step, event)
    step = forgotten.steps[i_step]
    kept = tuple(frame for frame in step.key_frames if frame.event != event)
    return _put_step(forgotten, i_step, replace(step, key_frames=kept))


def refuse_impossible_order(step: Step) -> None:
    """Raise KeyFramesOutOfOrder for touchdown after toe-off and the like.

    Toe-off and peak knee lift may share a picture or come in either order.
    """
    for first, second in _STRICTLY_BEFORE:
        a, b = step.key_frame(first), step.key_frame(second)
        if a and b and a.picture >= b.picture:
            raise KeyFramesOutOfOrder(
                f"{first.capitalize()} (frame {a.picture + 1}) must come before {second} "
                f"(frame {b.picture + 1}). Choose one of the two again."
            )


def place_tap(run: Run, i_step: int, event: str, tap: Tap) -> Run:
    """Put a tap on a key frame, in the place of an earlier one of the same point.

    Raises NothingToMark when the key frame is not chosen, TapOutside when it misses the picture.
    """
    frame = _frame(run, i_step, event)
    if tap.at_px is not None:
        refuse_outside(run, tap.point, tap.at_px)
    others = tuple(old for old in frame.taps if old.point != tap.point)
    return _put_frame(run, i_step, replace(frame, taps=(*others, tap)))


def refuse_outside(run: Run, name: str, at_px: Point) -> None:
    """Raise TapOutside for a point that is not on the picture."""
    (x, y), (width, height) = at_px, run.source.size_px
    if not (0 <= x <= width and 0 <= y <= height):
        raise TapOutside(
            f"The tap for {name} at ({x:.0f}, {y:.0f}) lies outside the frame "
            f"({width} × {height}). Tap inside it, or mark the point as hidden."
        )


def remove_tap(run: Run, i_step: int, event: str, point: str) -> Run:
    """Take a tap away; nothing happens where there is none."""
    frame = _frame(run, i_step, event)
    kept = tuple(tap for tap in frame.taps if tap.point != point)
    return _put_frame(run, i_step, replace(frame, taps=kept))


def change_frame(
    run: Run,
    i_step: int,
    event: str,
    *,
    unsure_by: int | None = None,
    is_blurred: bool | None = None,
) -> Run:
    """Set or clear "unsure by one or two" and "blurred picture" of a key frame."""
    frame = _frame(run, i_step, event)
    by = frame.unsure_by if unsure_by is None else unsure_by
    blurred = frame.is_blurred if is_blurred is None else is_blurred
    changed = replace(frame, is_unsure=by > 0, is_unsure_by_two=by > 1, is_blurred=blurred)
    return _put_frame(run, i_step, changed)


def set_turning_mark(run: Run, i_step: int, mark: TurningMark) -> Run:
    """Set first and last picture in which a limb seems still; the earlier one comes first."""
    if mark.last_picture < mark.first_picture:
        mark = replace(
            mark,
            first_picture=mark.last_picture,
            last_picture=mark.first_picture,
            first_s=mark.last_s,
            last_s=mark.first_s,
        )
    step = run.steps[i_step]
    others = tuple(old for old in step.turning_marks if old.limb != mark.limb)
    return _put_step(run, i_step, replace(step, turning_marks=(*others, mark)))


def clear_turning_mark(run: Run, i_step: int, limb: str) -> Run:
    """Forget a turning point."""
    step = run.steps[i_step]
    kept = tuple(mark for mark in step.turning_marks if mark.limb != limb)
    return _put_step(run, i_step, replace(step, turning_marks=kept))


def set_far_toe_off(run: Run, i_step: int, frame: KeyFrame | None) -> Run:
    """Set or clear the last picture of the far foot's contact after opposite touchdown."""
    return _put_step(run, i_step, replace(run.steps[i_step], far_toe_off=frame))


def tick(run: Run, i_step: int, name: str, level: int) -> Run:
    """Set a tick (0 no, 1 a little, 2 clearly) for something seen but not measured."""
    step = run.steps[i_step]
    others = tuple(old for old in step.ticks if old[0] != name)
    return _put_step(run, i_step, replace(step, ticks=(*others, (name, level))))


def untick(run: Run, i_step: int, name: str) -> Run:
    """Take an answer back: not ticked is no answer, and differs from no."""
    step = run.steps[i_step]
    kept = tuple(old for old in step.ticks if old[0] != name)
    return _put_step(run, i_step, replace(step, ticks=kept))


def look_again(run: Run, i_step: int, event: str, tap: Tap, *, look: int = 2, by: int = 0) -> Run:
    """Put a tap of a later look; it never touches the first taps.

    look: 2 for the second look, 3 for the third. by: so many pictures after the key frame.
    """
    step, first = run.steps[i_step], _frame(run, i_step, event)
    if tap.at_px is not None:
        refuse_outside(run, tap.point, tap.at_px)
    found = step.looks(event, by)
    frame = found[look - 2] if look - 2 < len(found) else replace(_beside(first, by), taps=())
    others = tuple(old for old in frame.taps if old.point != tap.point)
    new = replace(frame, taps=(*others, tap))
    looks = [new if each is frame else each for each in step.second_look]
    looks += [] if any(each is new for each in looks) else [new]
    return _put_step(run, i_step, replace(step, second_look=tuple(looks)))


def _beside(frame: KeyFrame, by: int) -> KeyFrame:
    """Return the picture so many after a key frame, with its time where that is known."""
    is_timed = frame.time_s is not None and frame.interval_s is not None
    time_s = frame.time_s + by * frame.interval_s if is_timed else None  # type: ignore[operator]
    return replace(frame, picture=frame.picture + by, time_s=time_s)


def draw(run: Run, mark: FreeMark) -> Run:
    """Add a line, an angle or a note; raise TapOutside and NothingToDraw as refuse_drawn."""
    refuse_drawn(run, mark)
    return replace(run, free_marks=(*run.free_marks, mark))


def redraw(run: Run, i: int, mark: FreeMark) -> Run:
    """Put a mark in the place of the one of that number; raises as draw."""
    refuse_drawn(run, mark)
    return replace(run, free_marks=(*run.free_marks[:i], mark, *run.free_marks[i + 1 :]))


def rub_out(run: Run, i: int) -> Run:
    """Take the free mark of that number away."""
    return replace(run, free_marks=run.free_marks[:i] + run.free_marks[i + 1 :])


def refuse_drawn(run: Run, mark: FreeMark) -> None:
    """Raise TapOutside for a mark that is not on the picture, NothingToDraw for an empty one."""
    name = f"the {mark.kind}"
    for at_px in mark.at_px if 0 not in run.source.size_px else ():
        refuse_outside(run, name, at_px)
    joint, *ends = mark.at_px
    if joint in ends:
        what = "joint and the end of an arm" if mark.kind == ANGLE else "two ends"
        raise NothingToDraw(
            f"The {what} of {name} lie on the same spot ({joint[0]:.0f}, {joint[1]:.0f}). "
            "Press once more, farther away."
        )
    if mark.kind == NOTE and not mark.words.strip():
        raise NothingToDraw("The note has no words. Type what you see there, or press Escape.")


def follow(run: Run, point: str, place: Place) -> Run:
    """Put a place on a point's path, instead of an earlier one in that picture.

    Raises TapOutside when it misses the picture.
    """
    refuse_outside(run, f"the path of the {point}", place.at_px)
    kept = [old for old in run.path(point).places if old.picture != place.picture]
    places = sorted([*kept, place], key=lambda each: each.picture)
    return _put_path(run, Path(point, tuple(places)))


def leave_path(run: Run, point: str, picture: int | None = None) -> Run:
    """Take one place off a point's path, or the whole path where no picture is named."""
    kept = [old for old in run.path(point).places if picture not in (None, old.picture)]
    return _put_path(run, Path(point, tuple(kept)))


def _put_path(run: Run, path: Path) -> Run:
    paths = {old.point: old for old in run.paths} | {path.point: path}
    kept = (paths[point] for point in PATH_POINTS if point in paths and paths[point].places)
    return replace(run, paths=tuple(kept))


def add_step(run: Run) -> Run:
    """Append an empty step."""
    return replace(run, steps=(*run.steps, Step()))


def remove_step(run: Run, i_step: int) -> Run:
    """Take a step away; a run keeps at least one, empty if need be."""
    left = run.steps[:i_step] + run.steps[i_step + 1 :]
    return replace(run, steps=left or (Step(),))


def change_set_up(run: Run, **answers: object) -> Run:
    """Change answers of the set-up, by the names of SetUp's fields; they count as answered."""
    given = {"rate" if field == "slow_factor" else field for field in answers}
    still = tuple(name for name in run.set_up.unanswered if name not in given)
    changed = {"unanswered": still, **answers}
    return replace(run, set_up=replace(run.set_up, **changed))  # type: ignore[arg-type]


def _frame(run: Run, i_step: int, event: str) -> KeyFrame:
    frame = run.steps[i_step].key_frame(event)
    if frame is None:
        raise NothingToMark(f"Choose the frame for {event} first, then tap its points.")
    return frame


def _forget_second_look(run: Run, i_step: int, event: str) -> Run:
    step = run.steps[i_step]
    kept = tuple(frame for frame in step.second_look if frame.event != event)
    return _put_step(run, i_step, replace(step, second_look=kept))


def _put_frame(run: Run, i_step: int, frame: KeyFrame) -> Run:
    step = run.steps[i_step]
    frames = {old.event: old for old in step.key_frames} | {frame.event: frame}
    order = {event: i for i, event in enumerate(EVENTS[run.view])}
    ordered = sorted(frames.values(), key=lambda each: order[each.event])
    return _put_step(run, i_step, replace(step, key_frames=tuple(ordered)))


def _put_step(run: Run, i_step: int, step: Step) -> Run:
    return replace(run, steps=(*run.steps[:i_step], step, *run.steps[i_step + 1 :]))
