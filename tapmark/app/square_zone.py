"""Where the runner is square to the camera: a bar along the foot of the picture.

The camera looks at the middle of the picture. Within 5° of that axis, 0.0875 of the distance to
either side, a far limb hardly shifts against a near one; at 12 m that is ± 1 m, one step.
"""

import math

from tapmark.app.viewport import Viewport
from tapmark.drawing import palette
from tapmark.drawing.shapes import Label, Line, Shapes
from tapmark.errors import ScaleUnusable
from tapmark.geometry.scale import px_per_m
from tapmark.marks.run import Run

SQUARE_DEG = 5.0


def zone_px(run: Run) -> tuple[float, float] | None:
    """Return left and right of the zone in picture px; None where camera or scale do not tell."""
    set_up, width = run.set_up, run.source.size_px[0]
    if set_up.camera_distance_m is None or set_up.scale_px is None or set_up.scale_m is None:
        return None
    if not set_up.is_static or run.view != "side":
        return None
    try:
        px = px_per_m(set_up.scale_px, set_up.scale_m)
    except ScaleUnusable:
        return None
    half = math.tan(math.radians(SQUARE_DEG)) * set_up.camera_distance_m * px
    return width / 2 - half, width / 2 + half


def zone_shapes(run: Run, view: Viewport, em: float) -> Shapes:
    """Return the bar and its words in canvas px; nothing where the zone is not known."""
    zone = zone_px(run)
    if zone is None:
        return ()
    left, _, right, bottom = view.placed
    y = bottom - 1.1 * em
    ends = [min(max(view.to_canvas((x, 0.0))[0], left), right) for x in zone]
    if ends[1] - ends[0] < em:
        return ()
    colour, casing = palette.WHITE, palette.CASING
    lines = [((ends[0], y), (ends[1], y))]
    lines += [((x, y - 0.5 * em), (x, y + 0.5 * em)) for x in ends if left < x < right]
    words = Label(
        ((ends[0] + ends[1]) / 2, y - 0.5 * em),
        "square to the camera",
        em,
        colour,
        anchor="c",
        casing=casing,
        casing_width=1.5,
    )
    return (*(Line(line, colour, 0.15 * em, (), casing, 0.38 * em) for line in lines), words)
