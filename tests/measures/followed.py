"""Paths of published runners as a seeded coach follows them, and what is true of them.

The runners are those of published.py, their points in between by straight lines in time. The coach
films at some rate from some phase, chooses touchdown and toe-off with honest slips, and taps each
point with honest scatter; the camera leans and its scale is off as one camera is.

Not simulated: perspective, blur that pulls all taps one way.
"""

from dataclasses import dataclass, replace
from functools import lru_cache
from math import ceil, floor
from pathlib import Path

import numpy as np

from tapmark.marks.run import KeyFrame, Place, Run, SetUp, Source, Step
from tapmark.marks.run import Path as Followed
from tests.drawn_runner.coach import ELSEWHERE_SD_PERCENT, SLIP_EACH_WAY, TAP_SD_PERCENT
from tests.measures.published import ALL, FILES, feet, table

# Force above and below 50 N, seconds on the clock of the files, one pair a step in published.STEPS.
CONTACTS = {
    "S": "0.1933 0.3093/0.4233 0.5367/0.6553 0.7713/0.8773 0.9967",
    "J": "0.1607 0.3927/0.5400 0.7727/0.9093 1.1447/1.2927 1.5327/1.6680 1.9007",
    "T": "0.0980 0.3040/0.3800 0.5880/0.6620 0.8650/0.9390 1.1460/1.2190 1.4270/1.5110 1.7130/"
    "1.7830 1.9880/2.0740 2.2810/2.3580 2.5650/2.6500 2.8620/2.9450 3.1500/3.2420 3.4500/"
    "3.5490 3.7420/3.8240 4.0360/4.1070 4.3190/4.3940 4.6010",
}
LEG_M = {"S": 1.0, "J": 1.004, "T": 0.959}  # mean of the steps
PX_PER_M = 400.0
ROLL_DEG, OFF_THE_LINE, TAPE_CM = 0.7, 0.0125, 1.0
LAST_S = 0.040


@dataclass(frozen=True)
class Stride:
    """One contact: when the foot was down, and where points were at any time, metres, X forward."""

    on_s: float
    off_s: float
    leg_m: float
    is_on_a_belt: bool
    times_s: np.ndarray
    places_m: dict[str, np.ndarray]

    def at(self, point: str, time_s: float) -> np.ndarray:
        """Return X and Y of a point at a time."""
        return np.array([np.interp(time_s, self.times_s, axis) for axis in self.places_m[point].T])


@lru_cache(maxsize=64)
def stride(folder: Path, who: str, i_step: int) -> Stride:
    """Return one contact of a published runner."""
    rows = list(table(folder / "data" / FILES[who][0]).values())
    near, _, _ = feet(who, i_step)
    places = {}
    for point in ("hip", "near knee", "near ankle"):
        name = f"{near}_{point.removeprefix('near ')}"
        cells = [[row[f"{name}_{axis}_m"] for axis in "xy"] for row in rows]
        places[point] = np.array([[float(cell or "nan") for cell in each] for each in cells])
    times = np.array([float(row["time_s"]) for row in rows])
    whole = ~np.isnan(np.concatenate(list(places.values()), axis=1)).any(axis=1)
    on, off = map(float, CONTACTS[who].split("/")[i_step].split())
    return Stride(
        on, off, LEG_M[who], who == "T", times[whole], {p: a[whole] for p, a in places.items()}
    )


def followed(each: Stride, hz: float, seed: int, *, by: int = 1, has_scale: bool = True) -> Run:
    """Return the run of a coach who follows hip, knee and ankle, one frame in `by`."""
    random = np.random.default_rng([seed, int(hz), by])
    phase = random.uniform()
    slips = random.choice((-1, 0, 1), 2, p=(SLIP_EACH_WAY, 1 - 2 * SLIP_EACH_WAY, SLIP_EACH_WAY))
    first = ceil(each.on_s * hz - phase) + int(slips[0])
    last = floor(each.off_s * hz - phase) + int(slips[1])
    roll = np.radians(random.normal(0.0, ROLL_DEG))
    turn = np.array([[np.cos(roll), -np.sin(roll)], [np.sin(roll), np.cos(roll)]])
    leg_px, paths = PX_PER_M * each.leg_m, []
    middle = each.at("hip", each.on_s)
    for point, _ in each.places_m.items():
        sd = leg_px / 100.0 * TAP_SD_PERCENT.get(point, ELSEWHERE_SD_PERCENT)
        places = []
        for number in range(first - 16 * by, last + 3, by):
            time = (number + phase) / hz
            flat = (each.at(point, time) - middle) * (1.0, -1.0) * PX_PER_M
            x, y = (3000.0, 1000.0) + turn @ flat + random.normal(0.0, sd, 2)
            places.append(Place(number + 100, (float(x), float(y)), time))
        paths.append(Followed(point, tuple(places)))
    frames = tuple(
        KeyFrame(event, number + 100, (number + phase) / hz, 1.0 / hz)
        for event, number in (("touchdown", first), ("toe-off", last))
    )
    marks = 2.0 * PX_PER_M * (1.0 + random.normal(0.0, OFF_THE_LINE))
    return Run(
        source=Source("clip", "", (6000, 2000)),
        set_up=SetUp(
            slow_factor=1.0,
            camera="tripod, levelled" if has_scale else "panned",
            scale_px=((2000.0, 1800.0), (2000.0 + marks, 1800.0)),
            scale_m=2.0,
            leg_cm=100.0 * each.leg_m + float(random.normal(0.0, TAPE_CM)),
            leg_source="tape",
        ),
        steps=(Step(frames),),
        paths=tuple(sorted(paths, key=lambda path: path.point)),
    )


def true_dip_m(each: Stride) -> float:
    """Return how far the hip sinks from landing to its lowest place in contact."""
    heights = [each.at("hip", t)[1] for t in np.linspace(each.on_s, each.off_s, 400)]
    return float(heights[0] - min(heights))


def before_landing(each: Stride, span_s: float, n: int) -> np.ndarray:
    """Return n evenly spaced times over the last span before landing, shape (n,)."""
    return each.on_s - span_s + np.linspace(0.0, span_s, n)


def true_speed_mps(each: Stride, span_s: float, n: int, *, to_hip: bool = False) -> float:
    """Return the slope of the straight line through the ankle's true places before landing."""
    times = before_landing(each, span_s, n)
    way = [(each.at("near ankle", t) - (each.at("hip", t) if to_hip else 0.0))[0] for t in times]
    return float(np.polyfit(times, way, 1)[0])


def true_swing_deg(each: Stride, span_s: float, n: int) -> float:
    """Return by how much the shin turns in 40 ms, by the straight line through its true angles."""
    times = before_landing(each, span_s, n)
    shins = np.array([each.at("near ankle", t) - each.at("near knee", t) for t in times])
    angles = np.degrees(np.arctan2(shins[:, 0], -shins[:, 1]))
    return float(np.polyfit(times, angles, 1)[0]) * LAST_S


def constants(folder: Path, runs: str) -> dict[str, float]:
    """Return what some published runs say of the constants of tapmark.measures.paths, by name.

    The root mean square over the runs of each one's own over its steps: every run counts alike.
    """
    found: dict[str, list[float]] = {}
    for who in runs:
        strides = [stride(folder, who, i) for w, i in ALL if w == who]
        for name, of_stride in _OF_STRIDE.items():
            each = np.array([of_stride(one) for one in strides])
            found.setdefault(name, []).append(float(np.mean(each**2)))
    return {name: float(np.mean(squares)) ** 0.5 for name, squares in found.items()}


def _parabola_off(each: Stride) -> float:
    """Return the dip of the parabola through the hip's true places less the true dip, % of leg."""
    times = np.linspace(0.0, each.off_s - each.on_s, 60)
    heights = [each.at("hip", each.on_s + time)[1] for time in times]
    curve = np.polyval(np.polyfit(times, heights, 2), times)
    return float(100.0 * (curve[0] - curve.min() - true_dip_m(each)) / each.leg_m)


def _speed_changes(each: Stride) -> float:
    """Return how the foot's speed in the last 40 ms changes with their end, m/s a second."""
    early, late = (replace(each, on_s=each.on_s + by) for by in (-0.005, 0.005))
    return 100.0 * (true_speed_mps(late, LAST_S, 9) - true_speed_mps(early, LAST_S, 9))


def _swing_changes(each: Stride) -> float:
    """Return how the shin's turn in the last 40 ms changes with their end, degrees a second."""
    early, late = (replace(each, on_s=each.on_s + by) for by in (-0.005, 0.005))
    return 100.0 * (true_swing_deg(late, LAST_S, 9) - true_swing_deg(early, LAST_S, 9))


_OF_STRIDE = {
    "_PARABOLA_PCT_LEG": _parabola_off,
    "_FOOT_SLOWS_MPS2": _speed_changes,
    "_SHIN_TURNS_DEG_PER_S": _swing_changes,
}
