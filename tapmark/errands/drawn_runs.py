"""Runs of the drawn runner, as a careful coach would mark them: samples, practice and checks."""

from collections.abc import Mapping
from math import radians, tan

from tapmark.marks.points import prompts
from tapmark.marks.run import (
    LEFT_TO_RIGHT,
    RIGHT_TO_LEFT,
    KeyFrame,
    Point,
    Run,
    SetUp,
    Source,
    Step,
    Tap,
)
from tapmark.practice.camera import View
from tapmark.practice.coach import tapped_step
from tapmark.practice.drawn import Picture, centred, key_pictures, true_taps
from tapmark.practice.style import Style

CAMERA_M = 12.0
LEAD_IN = 24  # pictures before touchdown, so that a slip to an earlier one is still in the clip


def drawn_run(
    style: Style,
    view: View | None = None,
    *,
    seed: int | None = None,
    rate_hz: float = 240.0,
    phase: float = 0.5,
    context: str = "sprint",
    tap_set: str = "standard",
) -> Run:
    """Return a marked run of the drawn runner.

    seed:  of the coach whose taps and frame choices are off by honest errors; None = the truth.
    phase: how far the camera's first picture comes after touchdown, in intervals (0 to 1).
    """
    view = centred(style, view or View())
    if seed is None:
        pictures = key_pictures(style, rate_hz, phase)
        taps = true_taps(style, view, {event: each.time_s for event, each in pictures.items()})
    else:
        pictures, taps = tapped_step(style, view, rate_hz, phase, seed)
    asked = prompts("side", tap_set)
    frames = tuple(
        _frame(event, pictures[event], taps[event], points, rate_hz)
        for event, points in asked.items()
    )
    source = Source("stills", "", (view.width, view.height), len(frames))
    return Run(
        tap_set=tap_set,
        source=source,
        set_up=_set_up(view, context),
        steps=(Step(frames),),
        marked_by="drawn",
    )


def _frame(
    event: str,
    picture: Picture,
    at: Mapping[str, Point],
    points: tuple[str, ...],
    rate_hz: float,
) -> KeyFrame:
    taps = tuple(Tap(point, at[point]) for point in points)
    number, time_s = picture.number + LEAD_IN, picture.time_s + LEAD_IN / rate_hz
    return KeyFrame(event, number, time_s, 1 / rate_hz, taps=taps)


def _set_up(view: View, context: str) -> SetUp:
    return SetUp(
        direction=LEFT_TO_RIGHT if view.direction > 0 else RIGHT_TO_LEFT,
        context=context,
        slow_factor=1.0,
        rate_source="drawn",
        camera="tripod, levelled",
        camera_distance_m=CAMERA_M,
        upright_px=upright(view),
        scale_px=(
            (view.width / 2 - view.px_per_m, view.ground_y),
            (view.width / 2 + view.px_per_m, view.ground_y),
        ),
        scale_m=2.0,
        pain="no",
        effort=9,
        zone="flying zone 40–50 m",
        shoes="spikes",
    )


def upright(view: View) -> tuple[Point, Point]:
    """Return bottom and top, px, of something truly vertical as the camera's roll leans it."""
    tall = 0.7 * view.height
    x, bottom = 0.7 * view.width, 0.84 * view.height
    return (x, bottom), (x + tall * tan(radians(view.roll)), bottom - tall)
