"""Why an action cannot be done now, said once for all pages; "" when it can."""

from tapmark.app.shell.context import Context
from tapmark.app.state.session import AppState
from tapmark.errors import FrameNotThere
from tapmark.marks.points import EVENTS


def needs_squad(context: Context) -> str:
    """Why nothing can be done with athletes."""
    return "" if context.state.squad else "Open or make a squad first."


def needs_athlete(context: Context) -> str:
    """Why nothing can be done with one athlete."""
    return needs_squad(context) or ("" if context.state.athlete else "Choose an athlete first.")


def today(context: Context) -> str:
    """Return today's date, ISO."""
    return context.today().isoformat()


def needs_visit(context: Context) -> str:
    """Why no frames can be brought in."""
    return "" if context.state.run else "Choose an athlete on Squad and start a visit first."


def needs_clip(context: Context) -> str:
    """Why nothing can be shown or marked."""
    has_clip = context.state.marking.gallery is not None
    return needs_visit(context) or ("" if has_clip else "Open a clip or stills first.")


def needs_frame(context: Context) -> str:
    """Why nothing can be said about the key frame at hand."""
    has_frame = context.state.frame is not None
    return needs_clip(context) or ("" if has_frame else "Choose a key frame first, keys 1 to 5.")


def events_of(state: AppState) -> tuple[str, ...]:
    """Return the key frames of the view that was filmed."""
    return EVENTS[state.run.view] if state.run else EVENTS["side"]


def needs_taps(context: Context) -> str:
    """Why there is nothing to read."""
    state = context.state
    if not state.run or not state.run_name:
        return "Mark a run first."
    return "" if next(state.run.taps(), None) else "Tap some points first."


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
