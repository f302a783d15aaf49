"""What can be done on the Frames page: walk through the pictures, choose the key frames."""

from collections.abc import Callable
from functools import partial

from tapmark.app.action import Action
from tapmark.app.desk import Desk
from tapmark.app.state import AppState
from tapmark.marks.edits import (
    change_frame,
    clear_key_frame,
    set_key_frame,
)
from tapmark.marks.points import EVENTS


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
    """Say that the key frame could be one picture earlier or later, then two, then neither."""
    state = desk.state
    if state.run and state.frame:
        by = (state.frame.unsure_by + 1) % 3
        changed = change_frame(state.run, state.i_step, state.event, unsure_by=by)
        words = ("sure of", "unsure by one of", "unsure by two of")[by]
        state.record(f"{words} {state.event}", changed)


def forget(desk: Desk) -> None:
    """Forget the picture of the key frame at hand, with its taps."""
    state = desk.state
    if state.run and state.frame:
        state.record(f"forget {state.event}", clear_key_frame(state.run, state.i_step, state.event))


_WALKED = ("film", "frames")
_MARKED = ("frames", "taps", "review")


def _walk(name: str, label: str, by: int, *keys: str) -> Action:
    return Action(name, label, partial(walk, by=by), keys, _WALKED, "Frames", needs_pictures)


def _mark(
    name: str,
    label: str,
    run: Callable[[Desk], None],
    key: str,
    hindrance: Callable[[Desk], str],
) -> Action:
    keys = (key,) if key else ()
    return Action(name, label, run, keys, ("frames",), "Frames", hindrance)


ACTIONS = (
    _walk("picture on", "Next picture", 1, "Right", "Period"),
    _walk("picture back", "Previous picture", -1, "Left", "Comma"),
    _walk("ten on", "Ten pictures on", 10, "Shift+Right"),
    _walk("ten back", "Ten pictures back", -10, "Shift+Left"),
    Action(
        "first picture",
        "First picture",
        partial(to_end, last=False),
        ("Home",),
        _WALKED,
        "Frames",
        needs_pictures,
    ),
    Action(
        "last picture",
        "Last picture",
        partial(to_end, last=True),
        ("End",),
        _WALKED,
        "Frames",
        needs_pictures,
    ),
    *(
        Action(
            f"key frame {i + 1}",
            f"Key frame {i + 1}: take, or go there",
            partial(choose, i_event=i),
            (str(i + 1),),
            _MARKED,
            "Frames",
            needs_pictures,
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
        needs_pictures,
    ),
    Action(
        "last key frame",
        "Previous chosen key frame",
        partial(jump, by=-1),
        ("[",),
        _WALKED,
        "Frames",
        needs_pictures,
    ),
    _mark("unsure", "Unsure by one picture, by two, sure", toggle_unsure, "U", needs_frame),
    _mark("forget frame", "Forget this key frame", forget, "Delete", needs_frame),
)
