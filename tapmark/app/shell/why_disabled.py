"""Why an action cannot be done now, said once for all pages; "" when it can."""

from collections.abc import Callable

from tapmark.app.shell.context import Context
from tapmark.app.state.session import AppState
from tapmark.errors import FrameNotThere
from tapmark.marks.points import EVENTS

Why = Callable[[Context], str]
"""Says why an action cannot be done now, "" when it can."""


def unless(words: str, holds: Callable[[Context], object], *before: Why) -> Why:
    """Return what says these words unless something holds; what stands before it is asked first."""

    def why(context: Context) -> str:
        told = next(filter(None, (each(context) for each in before)), "")
        return told or ("" if holds(context) else words)

    return why


needs_squad = unless("Open or make a squad first.", lambda c: c.state.squad)
needs_athlete = unless("Choose an athlete first.", lambda c: c.state.athlete, needs_squad)
needs_visit = unless(
    "Choose an athlete on Squad and start a visit first.", lambda c: c.state.run is not None
)
needs_clip = unless(
    "Open a clip or stills first.", lambda c: c.state.marking.gallery is not None, needs_visit
)
needs_frame = unless(
    "Choose a key frame first, keys 1 to 5.", lambda c: c.state.frame is not None, needs_clip
)


def today(context: Context) -> str:
    """Return today's date, ISO."""
    return context.today().isoformat()


def events_of(state: AppState) -> tuple[str, ...]:
    """Return the key frames of the view that was filmed."""
    return EVENTS[state.run.view] if state.run else EVENTS["side"]


needs_taps = unless(
    "Tap some points first.",
    lambda c: next(c.state.the_run.taps(), None),
    unless("Mark a run first.", lambda c: c.state.run and c.state.run_name),
)


def refuse_unseen(state: AppState, event: str, by: int = 0) -> None:
    """Raise FrameNotThere unless the frame so many after this key frame is on the screen."""
    frame = state.step.key_frame(event)
    if frame is None:
        return  # the edit itself says that the key frame has to be chosen first
    why = waiting_for(state)
    if not why and frame.picture + by != state.marking.picture:
        why = (
            f"The frame shown is not frame {frame.picture + 1}, which was chosen for {event}. "
            "Choose the key frame again on Frames, or find the whole clip."
        )
    if why:
        raise FrameNotThere(why)


def waiting_for(state: AppState) -> str:
    """Say why the frame at hand cannot be shown, or ""."""
    if state.pictures is None:
        return "The clip of this run is not open. Open it on Film, then mark."
    n_read, i = len(state.pictures), state.marking.picture
    words = f"Frame {i + 1} is not read yet ({n_read} are). It comes by itself; mark it then."
    return "" if i < n_read else words
