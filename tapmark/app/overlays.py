"""What is drawn over the picture: taps while tapping, references while filming."""

from tapmark.app.prompting import frame_of
from tapmark.app.state import AppState
from tapmark.app.viewport import Point, Viewport
from tapmark.drawing.overlay import reference_shapes, tap_shapes
from tapmark.drawing.shapes import Shapes


def taps_overlay(state: AppState, view: Viewport) -> Shapes:
    """Return the taps of the key frame at hand with thin lines between them, in canvas px.

    During the second look only its own taps are shown, never the first ones.
    """
    run = state.run
    frame = frame_of(state.step, state.event, again=state.is_again)
    if run is None or frame is None or frame.picture != state.picture:
        return ()
    return tap_shapes(frame, view.to_canvas)


def film_overlay(state: AppState, view: Viewport) -> Shapes:
    """Return pole and scale as they are marked, in canvas px."""
    run = state.run
    if run is None:
        return ()
    return reference_shapes(run.set_up, view.to_canvas) + _picked(state, view.to_canvas)


def _picked(state: AppState, to_canvas: "object") -> Shapes:
    return ()


def on_canvas(points: tuple[Point, ...], view: Viewport) -> tuple[Point, ...]:
    """Return picture points in canvas px."""
    return tuple(map(view.to_canvas, points))
