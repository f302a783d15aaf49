"""What is drawn over the picture: taps while tapping, references while filming, one angle after."""

from tapmark.app.prompting import frame_of
from tapmark.app.state import AppState
from tapmark.app.verdict_rows import Line
from tapmark.app.viewport import Point, Viewport
from tapmark.drawing import palette
from tapmark.drawing.angles import angle_shapes
from tapmark.drawing.overlay import reference_shapes, tap_shapes
from tapmark.drawing.shapes import Ring, Shapes


def taps_overlay(state: AppState, view: Viewport) -> Shapes:
    """Return the taps of the key frame at hand with thin lines between them, in canvas px.

    During the second look only its own taps are shown, never the first ones.
    """
    frame = frame_of(state.step, state.event, again=state.is_again)
    if frame is None or frame.picture != state.picture:
        return ()
    return tap_shapes(frame, view.to_canvas)


def review_overlay(state: AppState, line: Line | None, view: Viewport) -> Shapes:
    """Return the first taps, and the angle of the measure looked at where it belongs here."""
    frame, run = state.frame, state.run
    if run is None or frame is None or frame.picture != state.picture:
        return ()
    shapes = tap_shapes(frame, view.to_canvas)
    if line is None or line.event != state.event:
        return shapes
    return shapes + angle_shapes(run, frame, line.key, line.leg, line.short, view.to_canvas)


def film_overlay(state: AppState, view: Viewport) -> Shapes:
    """Return pole and scale as they are marked, and the press just made, in canvas px."""
    if state.run is None:
        return ()
    return reference_shapes(state.run.set_up, view.to_canvas) + tuple(
        _pressed(view.to_canvas(at)) for at in state.picked
    )


def _pressed(at: Point) -> Ring:
    return Ring(at, 6.0, None, palette.WHITE, 2.0, palette.CASING, 5.0)
