"""What a path measures, with its ±: dip of the hip, foot and shin before touchdown, way to a side.

Everything is read in runner axes and from smooth curves through the taps (least squares), so that
no single tap decides: a parabola for the hip in contact, a straight line in the last 40 ms before
touchdown, a cubic for the way to the side. Nothing here is graded: no band is published.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import hypot, radians

import numpy as np

from tapmark.geometry.planar import Array, hang_deg
from tapmark.geometry.runner_axes import to_runner
from tapmark.geometry.uncertainty import shares, stacked
from tapmark.marks.points import TOE_OFF, TOUCHDOWN
from tapmark.marks.run import KeyFrame, Path, Place, Point, Run, Step
from tapmark.measures.card import Card
from tapmark.measures.doubts import CAMERA_ROLL, THE_FRAME, USUAL_SLIP
from tapmark.measures.free_marks import (
    axes_sign,
    combined,
    knows_cm,
    knows_leg,
    size_parts,
)
from tapmark.measures.posture import Posture, posture_of
from tapmark.measures.result import Measured, NotMeasured, Result
from tapmark.measures.setting import roll_of

HIP_DIP, HIP_DIP_CM, HIP_LOWEST = "path_hip_dip", "path_hip_dip_cm", "path_hip_lowest"
FOOT_SPEED, FOOT_SPEED_TO_HIP = "path_foot_speed", "path_foot_speed_to_hip"
SHIN_SWING, SIDEWAYS = "path_shin_swing", "path_sideways"
WHAT_OF_PATHS = {
    HIP_DIP: "dip of the hip during contact",
    HIP_DIP_CM: "dip of the hip during contact",
    HIP_LOWEST: "hip lowest after touchdown",
    FOOT_SPEED: "foot over the ground before touchdown (+ = still moving forward)",
    FOOT_SPEED_TO_HIP: "foot against the hip before touchdown (+ = still moving forward)",
    SHIN_SWING: "turn of the shin in the last 40 ms before touchdown (− = it swings back)",
    SIDEWAYS: "sideways range",
}
PATH_TAPS, THE_CURVE = "the taps of the path", "the smooth curve"
NOT_GRADED = "from a path: shown, never graded"
# Ours: the time before touchdown that is read; where its places must end and how far they must
# reach; the fewest places of a parabola, of a dip and of a range.
LAST_S = 0.040
_LATEST_S, _SHORTEST_S = 0.016, 0.024
_FEWEST_BEFORE, _FEWEST_IN_CONTACT, _FEWEST_SIDEWAYS = 3, 4, 6
_LONGEST_GAP = 0.4  # of a contact, ours
# From the runs that doubts.DEPTH_M names, our arithmetic, root mean square over the three of each
# one's own over its steps: how far the parabola's dip is off that of the points themselves, and by
# how much the speed of the foot (forward) and the turn of the shin in the last 40 ms change with
# the end of those 40 ms. The runs differ widely (foot 44 to 122 m/s², shin 280 to 780 °/s), so that
# each of them is a poor guess of the others: tests/measures/test_paths.py tries that.
_PARABOLA_PCT_LEG = 0.35
_FOOT_SLOWS_MPS2 = 98.0
_SHIN_TURNS_DEG_PER_S = 600.0
_NO_TIMES = "The frames carry no times, so how fast anything moves is not known. Use a clip."
_NO_RATE = "The capture rate is not known. Answer “Filmed at (fps)” on the Film page."
_NO_SIZE = "Tap hip, near knee and near ankle on a key frame: the ± goes by the runner's size."


@dataclass(frozen=True)
class _Read:
    """What every measure reads from: a run, one step of it, its posture and the coach's card."""

    run: Run
    step: Step
    posture: Posture
    card: Card

    @property
    def leg_px(self) -> float:
        """The leg length that the scatter of a tap goes by, in px; 0 where nobody knows."""
        setting = self.posture.setting
        return setting.leg_px or setting.leg_m * (setting.px_per_m or 0.0)

    def late_s(self, frame: KeyFrame) -> tuple[float, float]:
        """Return the true second at which a foot landed, by its key frame, and its SD.

        The foot came down half an interval before the first frame that shows it, on average.
        """
        interval = self.posture.setting.interval_s(frame)
        sd = interval * hypot((1 / 12) ** 0.5, frame.unsure_by or USUAL_SLIP)
        return (self.run.true_time_s(frame.time_s) or 0.0) - interval / 2.0, sd

    def moved(self, *paths: tuple[str, Sequence[Point]]) -> tuple[Array, ...]:
        """Return each path in runner axes, shape (1 + 2S, n, 2), every tap of all moved in turn."""
        flat = np.concatenate([np.array(at, float).ravel() for _, at in paths])
        sds = [
            np.full(2 * len(at), self.card.sd_pct_leg(point) / 100.0 * self.leg_px)
            for point, at in paths
        ]
        rows = stacked(flat, np.concatenate(sds)).reshape(-1, len(flat) // 2, 2)
        laid = to_runner(rows, roll_of(self.run), axes_sign(self.run))
        ends = np.cumsum([len(at) for _, at in paths])[:-1]
        return tuple(np.split(laid, ends, axis=1))


def path_values(run: Run, i_step: int, card: Card) -> tuple[tuple[str, Result], ...]:
    """Return in words what the paths of a run say about one step, each with its value.

    Nothing where no path bears on it. A measure whose path has too few places, a gap or no time is
    NotMeasured with the reason.
    """
    if not run.paths:
        return ()
    step = run.steps[i_step]
    reading = _Read(run, step, posture_of(run, step, card), card)
    if run.view != "side":
        return tuple(_sideways(reading))
    return tuple((WHAT_OF_PATHS[each.key], each) for each in _side(reading))


def shin_word(swing: Measured) -> str:
    """Return whether the shin swings back before touchdown, in words; "can't tell" within the ±."""
    if abs(swing.value) <= swing.plus_minus:
        return "can't tell"
    return "swings back" if swing.value < 0 else "swings forward"


def _side(reading: _Read) -> Iterator[Result]:
    run = reading.run
    if run.path("hip").places:
        yield from _hip(reading)
    if run.path("near ankle").places:
        yield _foot(reading)
        if run.path("near knee").places:
            yield _shin(reading)


def _hip(reading: _Read) -> Iterator[Result]:
    """Yield dip in % of leg and cm, and when the hip is lowest, by a parabola over the contact."""
    found = _contact(reading)
    if isinstance(found, str):
        yield NotMeasured(HIP_DIP, "", found)
        return
    times, at_px, (landed_s, landed_sd), off_s = found
    since = np.array(times) - landed_s
    (hip,) = reading.moved(("hip", at_px))
    dip_px, low_s, half_px = _parabola(since, hip[..., 1], off_s - landed_s)
    dips_px = {
        PATH_TAPS: max(_sd(dip_px), _sd(half_px)),
        THE_CURVE: _PARABOLA_PCT_LEG / 100.0 * reading.leg_px,
    }
    falls = np.polyfit(since, hip[0, :, 1], 2)[1]  # px per s at landing
    dips_px[THE_FRAME] = abs(float(falls)) * landed_sd
    roll = radians(reading.posture.setting.roll_sd_deg)
    rolled = to_runner(
        np.array(at_px)[None],
        roll_of(reading.run) + np.array([[roll], [-roll]]),
        axes_sign(reading.run),
    )
    leaning, _, _ = _parabola(since, rolled[..., 1], off_s - landed_s)
    dips_px[CAMERA_ROLL] = abs(float(leaning[0] - leaning[1])) / 2.0
    dip, posture = float(dip_px[0]), reading.posture
    if knows_leg(posture.setting):
        yield _sized(HIP_DIP, "% leg", dip, dips_px, posture, 100.0 / posture.leg)
    if knows_cm(reading.run, posture.setting):
        yield _sized(HIP_DIP_CM, "cm", dip, dips_px, posture, 1.0 / posture.px_per_cm)
    parts = {PATH_TAPS: 1000.0 * _sd(low_s), THE_FRAME: 1000.0 * landed_sd}
    yield combined(HIP_LOWEST, "ms", 1000.0 * float(low_s[0]), 0, parts, NOT_GRADED)


def _contact(
    reading: _Read,
) -> tuple[list[float], list[Point], tuple[float, float], float] | str:
    """Return true times and places of the hip in contact, when it began (with SD) and ended."""
    run = reading.run
    first, last = reading.step.key_frame(TOUCHDOWN), reading.step.key_frame(TOE_OFF)
    if not run.set_up.is_static:
        return "The camera moved, so how far the hip sinks is not known. Film from a tripod."
    if first is None or last is None:
        return "Choose touchdown and toe-off first: the hip's dip is that between them."
    why = _why_not(reading, first, last)
    if why:
        return why
    landed, off_s = reading.late_s(first), run.true_time_s(last.time_s) or 0.0
    timed = _timed(run, run.path("hip"), landed[0] - 1.0, off_s + 1.0)
    one = 1.2 * float(np.median(np.diff([time for time, _ in timed]))) if timed[1:] else 0.0
    timed = _timed(run, run.path("hip"), landed[0] - one, off_s + one)
    times = [time for time, _ in timed]
    gaps = np.diff([landed[0], *times, off_s])
    if len(timed) < _FEWEST_IN_CONTACT:
        return (
            f"The path of the hip has {len(timed)} of the {_FEWEST_IN_CONTACT} places needed "
            "between touchdown and toe-off. Tap the hip in more frames."
        )
    if max(gaps) > _LONGEST_GAP * (off_s - landed[0]):
        return (
            f"The path of the hip has a gap of {1000 * max(gaps):.0f} ms during contact. Tap the "
            "hip in the frames between."
        )
    return times, [place.at_px for _, place in timed], landed, off_s


def _parabola(since: Array, heights: Array, until: float) -> tuple[Array, Array, Array]:
    """Return how far the curve sinks from 0 to its lowest point by then, when, and half way there.

    All of shape (N,). The last is in doubt by the taps also where they happen to show no dip.
    """
    fit = np.linalg.pinv(np.vander(since, 3, increasing=True)) @ heights[..., None]
    _, slope, bend = (fit[:, i, 0] for i in range(3))
    turns = np.where(bend > 0, -slope / np.where(bend > 0, 2.0 * bend, 1.0), until)
    low_s = np.clip(turns, 0.0, until)
    sinks = -(slope * low_s + bend * low_s**2)
    half_way = -(slope * until / 2.0 + bend * (until / 2.0) ** 2)
    low_s = np.where(sinks > 0, low_s, 0.0)
    return np.asarray(np.maximum(sinks, 0.0)), np.asarray(low_s), np.asarray(half_way)


def _foot(reading: _Read) -> Result:
    """Return the foot's mean speed over the last frames: over the ground, else against the hip."""
    run, posture = reading.run, reading.posture
    px_per_m = posture.setting.px_per_m if run.set_up.is_static else None
    others = [] if px_per_m else ["hip"]
    key = FOOT_SPEED if px_per_m else FOOT_SPEED_TO_HIP
    found = _before_touchdown(reading, ["near ankle", *others])
    if isinstance(found, str):
        return NotMeasured(key, "", found)
    times, paths, (off_s, landed_sd) = found
    foot, *hip = reading.moved(*paths)
    forward = foot[..., 0] - (hip[0][..., 0] if hip else 0.0)
    speed_px = _slope(times, forward)
    per_m = px_per_m or reading.leg_px / posture.setting.leg_m
    parts = {
        PATH_TAPS: _sd(speed_px),
        THE_FRAME: per_m * _FOOT_SLOWS_MPS2 * hypot(landed_sd, off_s),
    }
    if px_per_m:
        size = 0.01 / posture.px_per_cm
        return _sized(key, "m/s", float(speed_px[0]), parts, posture, size, digits=1)
    if not knows_leg(posture.setting):
        return NotMeasured(key, "", _NO_SIZE)
    return _sized(key, "leg/s", float(speed_px[0]), parts, posture, 1.0 / posture.leg, digits=1)


def _shin(reading: _Read) -> Result:
    """Return how far the shin turns in the last 40 ms before touchdown; − = it swings back."""
    found = _before_touchdown(reading, ["near knee", "near ankle"])
    if isinstance(found, str):
        return NotMeasured(SHIN_SWING, "", found)
    times, paths, (off_s, landed_sd) = found
    knee, ankle = reading.moved(*paths)
    swing = LAST_S * _slope(times, hang_deg(knee, ankle))
    parts = {
        PATH_TAPS: _sd(swing),
        THE_FRAME: _SHIN_TURNS_DEG_PER_S * hypot(landed_sd, off_s),
    }
    return combined(SHIN_SWING, "°", float(swing[0]), 0, parts, NOT_GRADED)


def _before_touchdown(
    reading: _Read, points: list[str]
) -> tuple[Array, list[tuple[str, list[Point]]], tuple[float, float]] | str:
    """Return times and places of points in the frames of the last 40 ms that all of them have.

    Then how far the last of these lies from the landing, and the SD of the landing, in s.
    """
    run, frame = reading.run, reading.step.key_frame(TOUCHDOWN)
    if frame is None:
        return "Choose touchdown first: this is read from the frames just before it."
    why = _why_not(reading, frame)
    if why:
        return why
    end_s = run.true_time_s(frame.time_s) or 0.0
    half = reading.posture.setting.interval_s(frame) / 2.0
    timed = [
        (time, place)
        for time, place in _timed(run, run.path(points[0]), end_s - LAST_S - half, end_s + half)
        if all(run.path(point).at(place.picture) for point in points[1:])
    ]
    names = " and ".join(points)
    if len(timed) < _FEWEST_BEFORE:
        return (
            f"The path of {names} has {len(timed)} of the {_FEWEST_BEFORE} places needed in the "
            "last 40 ms before touchdown. Tap every frame there; at 30 fps there are too few."
        )
    times, places = np.array([time for time, _ in timed]), [place for _, place in timed]
    if times[-1] < end_s - _LATEST_S or times[-1] - times[0] < _SHORTEST_S:
        return (
            f"The path of {names} ends {1000 * (end_s - times[-1]):.0f} ms before touchdown and "
            f"covers {1000 * (times[-1] - times[0]):.0f} ms. Follow it up to touchdown."
        )
    landed_s, landed_sd = reading.late_s(frame)
    return times, _along(run, points, places), (float(times[-1]) - landed_s, landed_sd)


def _sideways(reading: _Read) -> Iterator[tuple[str, Result]]:
    """Yield for each followed point how far it strays to the side, against the hip if followed.

    The runner grows smaller on the way off: a scale holds where its marks lie.
    """
    for path in reading.run.paths:
        if path.point != "hip":
            yield f"{WHAT_OF_PATHS[SIDEWAYS]} of the {path.point}", _range(reading, path)


def _range(reading: _Read, path: Path) -> Result:
    run, posture = reading.run, reading.posture
    if posture.setting.px_per_m is None:
        return NotMeasured(SIDEWAYS, "", "Set the scale on the Film page, then it is told in cm.")
    with_hip = bool(run.path("hip").places)
    places = [each for each in path.places if not with_hip or run.path("hip").at(each.picture)]
    if len(places) < _FEWEST_SIDEWAYS:
        also = ", the hip in the same ones" if with_hip else ""
        return NotMeasured(
            SIDEWAYS,
            "",
            f"The path of the {path.point} has {len(places)} of the {_FEWEST_SIDEWAYS} places "
            f"needed. Tap it in more frames{also}.",
        )
    point, *hip = reading.moved(*_along(run, [path.point, *["hip"] * with_hip], places))
    aside = point[..., 0] - (hip[0][..., 0] if hip else 0.0)
    numbers = np.array([each.picture for each in places], float)
    powers = np.vander((numbers - numbers.mean()) / np.ptp(numbers), 4)
    curve = aside @ (powers @ np.linalg.pinv(powers)).T
    range_px = np.ptp(curve, axis=1)
    parts = {PATH_TAPS: _sd(range_px)}
    return _sized(SIDEWAYS, "cm", float(range_px[0]), parts, posture, 1.0 / posture.px_per_cm)


def _along(
    run: Run, points: Sequence[str], places: Sequence[Place]
) -> list[tuple[str, list[Point]]]:
    """Return where each point lies in the pictures of some places, which all of them have."""
    found = [(point, [run.path(point).at(each.picture) for each in places]) for point in points]
    return [(point, [at_px for at_px in at if at_px]) for point, at in found]


def _timed(run: Run, path: Path, from_s: float, to_s: float) -> list[tuple[float, Place]]:
    """Return true time and place of the places of a path within some time, in order."""
    timed = [(run.true_time_s(each.time_s), each) for each in path.places]
    return [(time, each) for time, each in timed if time is not None and from_s <= time <= to_s]


def _why_not(reading: _Read, *frames: KeyFrame) -> str:
    if reading.run.set_up.slow_factor is None:
        return _NO_RATE
    if any(frame.time_s is None for frame in frames):
        return _NO_TIMES
    return "" if reading.leg_px else _NO_SIZE


def _slope(times: Array, values: Array) -> Array:
    """Return the slope of the straight line through values, shape (N, n), over times, (n,)."""
    from_middle = times - times.mean()
    return np.asarray(values @ from_middle / (from_middle @ from_middle))


def _sd(rows: Array) -> float:
    """Return the SD of a value from its rows, every tap moved in turn."""
    return float(np.hypot.reduce(shares(rows)))


def _sized(
    key: str,
    unit: str,
    value_px: float,
    parts_px: dict[str, float],
    posture: Posture,
    per_px: Array,
    digits: int = 0,
) -> Measured:
    """Return a value in another unit than px; per_px: that unit ÷ px in each row of the posture."""
    parts = {words: sd * float(per_px[0]) for words, sd in parts_px.items()}
    for words, sd in size_parts(posture, value_px * per_px).items():
        parts[words] = hypot(parts.get(words, 0.0), sd)
    return combined(key, unit, value_px * float(per_px[0]), digits, parts, NOT_GRADED)
