"""Nothing is marked on a picture that is not on the screen.

A clip can be open while it is still being read, cut short, or gone. A tap recorded then would
stand on a key frame whose picture nobody saw: a wrong number that looks right.
"""

from tapmark.app.state import AppState
from tapmark.errors import FrameNotThere


def refuse_unseen(state: AppState, event: str, by: int = 0) -> None:
    """Raise FrameNotThere unless the picture so many after this key frame is on the screen."""
    frame = state.step.key_frame(event)
    if frame is None:
        return  # the edit itself says that the key frame has to be chosen first
    why = waiting_for(state)
    if not why and frame.picture + by != state.picture:
        why = (
            f"The picture shown is not picture {frame.picture + 1}, which was chosen for {event}. "
            "Choose the key frame again on Frames, or find the whole clip."
        )
    if why:
        raise FrameNotThere(why)


def waiting_for(state: AppState) -> str:
    """Say why the picture at hand cannot be shown, or ""."""
    if state.gallery is None:
        return "The pictures of this run are not open. Open them on Film, then mark."
    n_read = len(state.gallery.pictures)
    if state.picture < n_read:
        return ""
    return (
        f"Picture {state.picture + 1} is not read yet ({n_read} are). "
        "It comes by itself; mark it then."
    )
