"""Runs of the drawn runner as a seeded coach marks them: samples, practice and checks."""

import sys
from collections.abc import Mapping
from math import radians, tan
from pathlib import Path

from tapmark.marks.points import STANDARD, prompts
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
from tapmark.services.samples import (
    Truth,
    earlier_visits,
    pair,
    read_truth,
    sample_codes,
    set_up_of,
)
from tapmark.store.files import write_bytes, write_json
from tapmark.store.schema import RUN_FILE
from tests.drawn_runner.camera import View
from tests.drawn_runner.coach import tapped_step, tapping_error
from tests.drawn_runner.drawn import Picture, centred, key_pictures, true_taps
from tests.drawn_runner.style import Style

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


SEEDS = {"P01": 1, "P02": 2, "2026-03-05": 7, "2026-04-09": 5}
"""Code of an athlete, or day of an earlier visit -> seed of the coach who marked it."""


def marked_run(truth: Truth, dated: str = "") -> Run:
    """Return the run as a careful coach marked it; the seed belongs to the code or the day."""
    stills, told = truth["stills"], truth["athlete"]
    points = {event: _pairs(still["points"]) for event, still in stills.items()}
    leg_px = truth["picture"]["px_per_m"] * told["leg_length_cm"] / 100
    taps = tapping_error(points, SEEDS[dated or told["code"]], leg_px)
    rate = truth["pictures_per_second"]
    in_clip = truth.get("clip", {}).get("key_pictures")
    frames = tuple(
        KeyFrame(
            event,
            in_clip[event] if in_clip else number,
            in_clip[event] / rate if in_clip else stills[event]["picture"] / rate,
            1 / rate,
            taps=tuple(Tap(point, _rounded(taps[event][point])) for point in STANDARD[event]),
        )
        for number, event in enumerate(STANDARD)
    )
    return Run(source=_source(truth), set_up=set_up_of(truth), steps=(Step(frames),), marked_by="S")


def _source(truth: Truth) -> Source:
    size = truth["picture"]["width"], truth["picture"]["height"]
    if "clip" in truth:
        return Source("clip", truth["clip"]["file"], size, truth["clip"]["pictures"])
    return Source("stills", "", size, len(truth["stills"]))


def _pairs(points: Mapping[str, list[float]]) -> dict[str, tuple[float, float]]:
    return {name: pair(at) for name, at in points.items()}


def _rounded(at: tuple[float, float]) -> tuple[float, float]:
    return round(at[0], 1), round(at[1], 1)


def times_table(truth: Truth) -> str:
    """Return times.csv of the stills: picture, seconds on the file's clock, true seconds."""
    rate = truth["pictures_per_second"]
    rows = [
        f"{still['file']},{still['picture'] / rate:.6f},{still['picture'] / rate:.6f}"
        for still in truth["stills"].values()
    ]
    return "\r\n".join(["picture,time_s,capture_time_s", *rows, ""])


def write_sample_runs(folder: Path) -> list[Path]:
    """Write run-1.json and times.csv beside each truth.json and return the files."""
    written = []
    for code in sample_codes(folder):
        for dated in ("", *earlier_visits(folder, code)):
            place = folder / code / dated
            truth = read_truth(place.parent, place.name)
            run, times = place / "run-1.json", place / "times.csv"
            write_json(run, RUN_FILE.write(marked_run(truth, dated)))
            write_bytes(times, times_table(truth).encode())
            written += [run, times]
    return written


if __name__ == "__main__":
    write_sample_runs(Path(sys.argv[1]))
