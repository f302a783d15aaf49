"""What is drawn over the picture: taps while tapping, references while filming, one angle after.

unit: px of a px at 96 dots an inch, so that marks are as large on a screen with more of them.
"""

from tapmark.app.prompting import frame_of
from tapmark.app.state import AppState
from tapmark.app.verdict_rows import Line
from tapmark.app.viewport import Point, Viewport
from tapmark.drawing import palette
from tapmark.drawing.angles import angle_shapes
from tapmark.drawing.overlay import reference_shapes, tap_shapes
from tapmark.drawing.shapes import Ring, Shapes


def taps_overlay(state: AppState, view: Viewport, unit: float) -> Shapes:
    """Return the taps of the key frame at hand with thin lines between them, in canvas px.

    During the second look only its own taps are shown, never the first ones.
    """
    by = state.prompt.by if state.prompt else 0
    frame = frame_of(state.step, state.event, again=state.look, by=by)
    if frame is None or frame.picture != state.picture:
        return ()
    return tap_shapes(frame, view.to_canvas, unit)


def review_overlay(state: AppState, line: Line | None, view: Viewport, unit: float) -> Shapes:
    """Return the first taps, and the angle of the measure looked at where it belongs here."""
    frame, run = state.frame, state.run
    if run is None or frame is None or frame.picture != state.picture:
        return ()
    shapes = tap_shapes(frame, view.to_canvas, unit)
    if line is None or line.event != state.event:
        return shapes
    angle = angle_shapes(run, frame, line.key, line.leg, line.short, view.to_canvas, unit)
    return shapes + angle


def film_overlay(state: AppState, view: Viewport, unit: float) -> Shapes:
    """Return pole and scale as they are marked, and the press just made, in canvas px."""
    if state.run is None:
        return ()
    return reference_shapes(state.run.set_up, view.to_canvas, unit) + tuple(
        _pressed(view.to_canvas(at), unit) for at in state.picked
    )


def _pressed(at: Point, unit: float) -> Ring:
    return Ring(at, 6 * unit, None, palette.WHITE, 2 * unit, palette.CASING, 5 * unit)
