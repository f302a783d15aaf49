"""Seeded coaches who mark drawn runners of known truth, with errors of known size.

One coach, one run: the set-up's errors (roll, aim, far hip, shoulder turn, scale) are drawn once,
taps and choice of pictures for each key frame. Places come from the drawn runner through a pinhole
camera; the truth comes from practice.truth, which shares no code with the measures.

People differ: `turned_otherwise` gives every seeded person limbs that turn at a key frame at rates
of their own, drawn from what published runs show.

Not simulated: clothes and blur that pull all taps one way, a picture rolled by a moving camera,
a bend, and points that a coach takes for something else.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from math import radians, tan

import numpy as np

from tapmark.marks.edits import look_again
from tapmark.marks.points import STANDARD, TOE_OFF
from tapmark.marks.run import KeyFrame, Point, Run, SetUp, Source, Step, Tap, TurningMark
from tapmark.measures.catalogue import RATES_AT_CONTACT_S, row
from tapmark.measures.result import Key
from tests.drawn_runner.body import Body
from tests.drawn_runner.camera import View, project
from tests.drawn_runner.coach import ELSEWHERE_SD_PERCENT, TAP_SD_PERCENT, slipped
from tests.drawn_runner.drawn import Picture, centred, key_pictures, key_times, leg_px, side_points
from tests.drawn_runner.motion import motion_of
from tests.drawn_runner.stance import stance_of
from tests.drawn_runner.style import Style
from tests.drawn_runner.truth import measures_of, places_at, true_measures

DISTANCE_M = 12.0
WIDTH, HEIGHT = 2600, 1000
NEAR = "near"
FAR_HIP_M = (0.016, 0.015)
AIM_DEG, ROLL_DEG, REFERENCE_DEG, SHOULDER_DEG = 2.0, 1.5, 0.3, 1.2
SHOULDER_ALONE_DEG = 2.5
MARKS_OFF_LINE_M, MARK_TAP_PCT_LEG, TURN_MARK_S = 0.15, 0.5, 0.0075

PLAIN = {  # row → name in practice.truth; rows of legs whose hip is their own
    ("reach", "near"): "reach",
    ("reach", "far"): "opposite reach",
    ("ankle_knee", "near"): "ankle ahead of knee",
    ("ankle_knee", "far"): "opposite ankle ahead of knee",
    ("ankle_hip", "near"): "ankle ahead of hip",
    ("knee_touchdown", "near"): "knee at touchdown",
    ("thigh_touchdown", "near"): "thigh at touchdown",
    ("knee_separation", "near"): "knee separation",
    ("knee_separation", "far"): "opposite knee separation",
    ("separation_ahead", "near"): "ahead of hip",
    ("separation_behind", "far"): "opposite behind hip",
    ("swing_thigh", "far"): "opposite swing thigh",
    ("trunk_lean", ""): "trunk lean",
    ("leg_stack", "near"): "leg stack",
    ("knee_mid_stance", "near"): "knee at mid-stance",
    ("knee_bend", "near"): "knee bend",
    ("hip_drop", "near"): "hip drop",
    ("thigh_toe_off", "near"): "thigh at toe-off",
    ("knee_toe_off", "near"): "knee at toe-off",
    ("hip_toe_off", "near"): "hip at toe-off",
    ("hip_share", "near"): "hip share",
    ("drive_angle", "near"): "drive angle",
    ("contact_time", "near"): "contact ms",
    ("flight_time", ""): "flight ms",
    ("step_time", ""): "step ms",
    ("step_rate", ""): "step rate",
    ("turn_delay", "near"): "turn delay ms",
    ("step_length", ""): "step length m",
    ("speed", ""): "speed m/s",
}
BY_THE_FAR_HIP = {
    ("ankle_hip", "far"): "opposite ankle ahead of hip",
    ("knee_touchdown", "far"): "opposite knee at touchdown",
    ("thigh_touchdown", "far"): "opposite thigh at touchdown",
    ("separation_ahead", "far"): "opposite ahead of hip",
    ("separation_behind", "near"): "behind hip",
    ("swing_thigh", "near"): "swing thigh",
    ("fold", "far"): "fold",
    ("peak_thigh", "far"): "peak thigh",
    ("front_leg_return", "far"): "front-leg return",
}


@dataclass(frozen=True)
class Filming:
    """How a run was filmed: pictures a second, degrees off square, with a vertical reference."""

    rate: float = 240.0
    off_deg: float = 0.0
    has_reference: bool = True


# Four runners after published people (sprinters at top speed, one faster and one slower distance
# runner); the numbers are the drawing's own, set so that the limbs of each turn at contact and at
# toe-off as fast as those of the published runs: test_coverage compares them.
RUNNERS = (
    Style(
        reach=2.3,
        knee_touchdown=153.8,
        foot_touchdown=10.8,
        foot_flat_s=0.025,
        knee_mid_stance=138.9,
        heel_rise_s=0.039,
        knee_toe_off=157.6,
        drive=28.8,
        swing_thigh=5.8,
        swing_knee=54.0,
        fold=34.5,
        landing_slide=3.5,
    ),
    Style(
        contact_s=0.112,
        flight_s=0.116,
        reach=3.9,
        knee_touchdown=154.0,
        foot_touchdown=11.3,
        foot_flat_s=0.028,
        knee_mid_stance=141.5,
        heel_rise_s=0.042,
        thigh_toe_off=-27.8,
        knee_toe_off=158.0,
        drive=29.8,
        swing_thigh=-7.2,
        swing_knee=63.0,
        fold=40.1,
        peak_thigh=64.0,
        peak_delay_s=0.010,
        landing_slide=3.6,
        trunk_lean=9.0,
    ),
    Style(
        contact_s=0.150,
        flight_s=0.130,
        reach=6.2,
        knee_touchdown=157.0,
        foot_touchdown=5.3,
        foot_flat_s=0.031,
        knee_mid_stance=138.3,
        heel_rise_s=0.062,
        thigh_toe_off=-28.7,
        knee_toe_off=162.3,
        drive=28.8,
        swing_thigh=-12.5,
        swing_knee=77.9,
        fold=47.6,
        peak_thigh=57.0,
        peak_delay_s=-0.001,
        knee_before_landing=158.0,
        landing_slide=3.5,
    ),
    Style(
        contact_s=0.205,
        flight_s=0.100,
        reach=12.1,
        knee_touchdown=161.3,
        foot_touchdown=-10.1,
        foot_flat_s=0.026,
        knee_mid_stance=133.6,
        heel_rise_s=0.103,
        thigh_toe_off=-28.2,
        knee_toe_off=163.1,
        drive=26.2,
        swing_thigh=-17.0,
        swing_knee=92.3,
        fold=56.0,
        peak_thigh=49.0,
        peak_delay_s=-0.018,
        knee_before_landing=164.0,
        landing_slide=1.8,
        trunk_sway=0.5,
    ),
)
_SAME_INSTANT_S = 0.006
# Published swing thighs at a contact of 110 ms (Dorn 2012, 10.1242/jeb.064527; Hamner & Delp 2013,
# 10.1016/j.jbiomech.2012.11.024; our arithmetic): the slowest and the fastest of the three runs.
SWING_RATES = (483.0, 611.0)


def runner(number: int) -> Style:
    """Return one of many drawn runners: a kind of RUNNERS with times and build of its own.

    The swing leg meets the ground with the rates at which the stance leg goes on, so that
    nothing jumps as the foot lands.
    """
    random = np.random.default_rng([number, 5])
    kind = RUNNERS[number % len(RUNNERS)]
    style = replace(
        kind,
        height_m=random.uniform(1.62, 1.88),
        contact_s=kind.contact_s * random.uniform(0.94, 1.06),
        flight_s=kind.flight_s * random.uniform(0.92, 1.08),
        reach=kind.reach + random.uniform(-2.0, 2.0),
        swing_thigh=kind.swing_thigh + random.uniform(-5.0, 5.0),
        trunk_lean=kind.trunk_lean + random.uniform(-3.0, 3.0),
    )
    thigh, shank, _ = stance_of(style).leg(np.array([0.0, _SAME_INSTANT_S]))
    landing = np.diff([thigh, 180.0 - thigh + shank])[:, 0] / _SAME_INSTANT_S
    return replace(
        style,
        swing_rate=random.uniform(*SWING_RATES) * RATES_AT_CONTACT_S / style.contact_s,
        thigh_landing_rate=landing[0],
        knee_landing_rate=landing[1],
    )


@dataclass(frozen=True)
class Habits:
    """A coach's errors beyond the stated ones.

    hip_sd_pct, hip_offset_m:  SD of the hip in % of leg; a steady offset of it in m.
    slip_sd:                   SD of the choice of a picture; None: one too many or too few, 12.5 %
                               of the time each way.
    """

    hip_sd_pct: float = TAP_SD_PERCENT["hip"]
    hip_offset_m: tuple[float, float] = (0.0, 0.0)
    slip_sd: float | None = None


def marked(
    style: Style, filming: Filming, seed: int, habits: Habits = Habits()
) -> tuple[Run, dict[Key, float]]:
    """Return one coach's run and the true value of every row that has one."""
    (run,), truth = visited(style, filming, seed, 1, habits)
    return run, truth


def visited(
    style: Style, filming: Filming, seed: int, n_passes: int, habits: Habits = Habits()
) -> tuple[list[Run], dict[Key, float]]:
    """Return one coach's runs of several passes, filmed and run alike, and the true values."""
    random = np.random.default_rng(seed)
    far_hip = random.normal(0.0, FAR_HIP_M)
    roll, view, phase, turns = _filmed(style, filming, random)
    steps = [_step(style, filming, view, turns, phase, random, seed, habits)]
    run = Run(
        source=Source("clip", "", (WIDTH, HEIGHT)),
        set_up=_set_up(view, filming, roll, leg_px(style, view), random),
    )
    for i in range(1, n_passes):
        own = np.random.default_rng([seed, i])
        slips = int(own.integers(2**31))
        steps.append(_step(style, filming, view, turns, own.uniform(), own, slips, habits))
    truth = _truth(style, (float(far_hip[0]), float(far_hip[1])))
    return [replace(run, steps=(step,)) for step in steps], truth


def _step(
    style: Style,
    filming: Filming,
    view: View,
    turns: Mapping[str, float],
    phase: float,
    random: np.random.Generator,
    slips: int,
    habits: Habits,
) -> Step:
    """Return the marked key frames of one pass."""
    chosen = key_pictures(style, filming.rate, phase)
    if habits.slip_sd is None:
        pictures = slipped(chosen, slips, filming.rate)
    else:
        own = np.random.default_rng([slips, 2])
        by = {event: round(own.normal(0.0, habits.slip_sd)) for event in chosen}
        pictures = {
            event: Picture(each.number + by[event], each.time_s + by[event] / filming.rate)
            for event, each in chosen.items()
        }
    frames = []
    seen = _seen(style, view, {event: pictures[event].time_s for event in STANDARD}, turns)
    for event, points in STANDARD.items():
        at = seen[event]
        taps = tuple(
            Tap(point, _tapped(random, point, at[point], leg_px(style, view), habits, view))
            for point in points
        )
        picture, time_s = pictures[event].number, pictures[event].time_s
        frames.append(KeyFrame(event, picture, time_s, 1 / filming.rate, taps=taps))
    return Step(tuple(frames), turning_marks=_turning_marks(style, random))


def looked_again(
    run: Run,
    filmed_as: tuple[Style, Filming, int],
    event: str,
    points: Iterable[str],
    seed: int,
    by: Iterable[int] = (0,),
) -> Run:
    """Return a run of `marked` with another look at some points of a key frame.

    filmed_as: what `marked` was given. by: pictures after the key frame; errors are drawn anew.
    """
    style, filming, first_seed = filmed_as
    random = np.random.default_rng(first_seed)
    random.normal(0.0, FAR_HIP_M)
    _, view, phase, turns = _filmed(style, filming, random)
    pictures = slipped(key_pictures(style, filming.rate, phase), first_seed, filming.rate)
    again = np.random.default_rng([first_seed, seed])
    for after in by:
        time_s = pictures[event].time_s + after / filming.rate
        at = _seen(style, view, {event: time_s}, turns)[event]
        look = 2 + (len(run.steps[0].looks(event)) if after == 0 else 0)
        for point in points:
            place = _tapped(again, point, at[point], leg_px(style, view), Habits(), view)
            run = look_again(run, 0, event, Tap(point, place), look=look, by=after)
    return run


def turned_otherwise(run: Run, style: Style, person: int) -> dict[Key, float]:
    """Return by how much every row of a pass of `visited` would have come out otherwise, had the
    limbs of this person turned about the key frames at rates of their own.

    Each rate is drawn from mean and spread of the published runs, as tests/measures/
    test_catalogue.py holds the catalogue to them, and so is its bend, to a third, where the
    catalogue has one. They take the place of what the drawn figure does between the true instant
    and the picture chosen, whose toe lifts off more suddenly than a measured one. The true value
    stays: what changes is what a picture before or after the true instant shows.
    """
    times, leg_m, whole = key_times(style), Body(style.height_m).leg, dict(_places(style))
    moved: dict[Key, float] = {}
    chosen = {each.event: each.time_s or 0.0 for each in run.steps[0].key_frames}
    true, late = measures_of(whole, leg_m), places_at(style, chosen)
    for event, time_s in chosen.items():
        late_s = time_s - times[event]
        drawn = measures_of(whole | {event: late[event]}, leg_m)
        for i, ((key, leg), name) in enumerate((PLAIN | BY_THE_FAR_HIP).items()):
            of = row(key)
            rates, spreads, bends = (
                f(leg, style.contact_s) for f in (of.rates_of, of.spreads_of, of.bends_of)
            )
            if name not in true or (event not in rates and event not in bends):
                continue
            own = np.random.default_rng([person, 11, i, list(STANDARD).index(event)])
            by, bent = own.normal(0.0, 1.0, 2)
            rate = rates.get(event, 0.0) + by * spreads.get(event, 0.0)
            bend = bends.get(event, 0.0) * (1.0 + bent / 3.0)
            other = rate * late_s + bend * late_s**2 / 2.0
            moved[key, leg] = moved.get((key, leg), 0.0) + other - (drawn[name] - true[name])
    return moved


def rates_at_110_ms(style: Style) -> dict[tuple[str, str], float]:
    """Return how fast rows change at their key frame, per second, as if contact took 110 ms.

    (row, key frame) → a central difference over 8 ms of the drawn runner's true values.
    """
    leg, whole = Body(style.height_m).leg, dict(_places(style))
    rates: dict[tuple[str, str], float] = {}
    for event, time_s in key_times(style).items():
        before, after = (
            measures_of(whole | {event: _places_at(style, time_s + by)}, leg)
            for by in (-0.004, 0.004)
        )
        for (key, leg_name), name in (PLAIN | BY_THE_FAR_HIP).items():
            if name in before and ((key, event) not in rates or leg_name == NEAR):
                change = (after[name] - before[name]) / 0.008
                rates[key, event] = change * style.contact_s / RATES_AT_CONTACT_S
    return rates


def _filmed(
    style: Style, filming: Filming, random: np.random.Generator
) -> tuple[float, View, float, Mapping[str, float]]:
    """Return roll, view, phase of the pictures, and the tangents of the trunk's turn."""
    roll = random.normal(0.0, ROLL_DEG)
    view = _view(style, filming, roll, random)
    phase = random.uniform()
    turn, alone = (
        tan(radians(random.normal(0.0, deg))) for deg in (SHOULDER_DEG, SHOULDER_ALONE_DEG)
    )
    return roll, view, phase, dict.fromkeys(STANDARD, turn) | {TOE_OFF: alone}


def _view(style: Style, filming: Filming, roll: float, random: np.random.Generator) -> View:
    aim, side = random.normal(0.0, AIM_DEG), random.choice((-1, 1))
    straight = centred(style, View(WIDTH, HEIGHT, ground_y=860.0))
    return replace(
        straight,
        roll=roll,
        yaw=aim,
        distance_m=DISTANCE_M,
        centre_m=straight.centre_m + side * DISTANCE_M * tan(radians(filming.off_deg)),
        direction=int(random.choice((-1, 1))),
    )


def _seen(
    style: Style, view: View, times_s: Mapping[str, float], turns: Mapping[str, float]
) -> dict[str, dict[str, Point]]:
    """Return every point in px by key frame; the near shoulder stands where a turned trunk shows
    it."""
    joints = dict(motion_of(style).joints(np.array(list(times_s.values()))))
    middle, hip = joints["middle of the shoulders"].T, joints["hip"].T
    turn = np.array([turns[event] for event in times_s])
    ahead = turn * (middle[1] - hip[1])
    joints["shoulder"] = (middle + np.stack([ahead, 0.0 * ahead, hip[2] - middle[2]])).T
    seen = dict(zip(joints, project(view, np.stack(list(joints.values()))), strict=True))
    return {
        event: {name: (float(xy[i, 0]), float(xy[i, 1])) for name, xy in seen.items()}
        for i, event in enumerate(times_s)
    }


def _tapped(
    random: np.random.Generator, point: str, at: Point, leg: float, habits: Habits, view: View
) -> Point:
    sd = habits.hip_sd_pct if point == "hip" else TAP_SD_PERCENT.get(point, ELSEWHERE_SD_PERCENT)
    dx, dy = random.normal(0.0, sd / 100 * leg, 2)
    if point == "hip":
        dx += view.direction * view.px_per_m * habits.hip_offset_m[0]
        dy -= view.px_per_m * habits.hip_offset_m[1]
    return float(at[0] + dx), float(at[1] + dy)


def _turning_marks(style: Style, random: np.random.Generator) -> tuple[TurningMark, ...]:
    """Return four marks of arms that turn with their thighs: the lag is nil."""
    rear, lead = style.contact_s + style.turn_delay_s, style.contact_s + style.peak_delay_s
    turns_s = {"rear thigh": rear, "lead thigh": lead, "hand forward": rear, "elbow back": lead}
    marks = []
    for limb, at_s in turns_s.items():
        middle = at_s + random.normal(0.0, TURN_MARK_S)
        first, last = middle - 0.010, middle + 0.010
        marks.append(TurningMark(limb, int(first * 1000), int(last * 1000), first, last))
    return tuple(marks)


def _set_up(
    view: View, filming: Filming, roll: float, leg_px: float, random: np.random.Generator
) -> SetUp:
    seen_roll = radians(roll + random.normal(0.0, REFERENCE_DEG))
    upright = ((1000.0, 900.0), (1000.0 + 600.0 * tan(seen_roll), 300.0))
    # the marks lie a little before or behind the running line, and are tapped
    seen_px = 2.0 * view.px_per_m * DISTANCE_M / (DISTANCE_M + random.normal(0, MARKS_OFF_LINE_M))
    seen_px += random.normal(0.0, 2**0.5 * MARK_TAP_PCT_LEG / 100 * leg_px)
    return SetUp(
        direction="left to right" if view.direction > 0 else "right to left",
        slow_factor=1.0,
        camera="tripod",
        camera_distance_m=DISTANCE_M,
        upright_px=upright if filming.has_reference else None,
        scale_px=((1000.0, 860.0), (1000.0 + seen_px, 860.0)),
        scale_m=2.0,
    )


def true_rows(style: Style) -> dict[Key, float]:
    """Return the true value of every row that has one; the far hip stands where the near one is."""
    return _truth(style, (0.0, 0.0))


@lru_cache(maxsize=256)
def _places(style: Style) -> Mapping[str, Mapping[str, Point]]:
    return places_at(style, key_times(style))


def _places_at(style: Style, time_s: float) -> Mapping[str, Point]:
    return {name: (float(xy[0]), float(xy[1])) for name, xy in side_points(style, time_s).items()}


@lru_cache(maxsize=256)
def _by_near_hip(style: Style) -> Mapping[str, float]:
    return true_measures(style)


def _truth(style: Style, far_hip: Point) -> dict[Key, float]:
    """Return true rows; far legs hang from a far hip that stands off the near one."""
    leg = Body(style.height_m).leg
    shifted = {
        event: {**at, "hip": (at["hip"][0] + far_hip[0], at["hip"][1] + far_hip[1])}
        for event, at in _places(style).items()
    }
    near, far = _by_near_hip(style), measures_of(shifted, leg)
    truth = {key: near[name] for key, name in PLAIN.items()}
    truth |= {key: far[name] for key, name in BY_THE_FAR_HIP.items()}
    truth["arm_leg_lag", ""] = 0.0
    truth["duty_factor", "near"] = 100 * near["duty factor"]
    for leg_name, name in (
        ("near", "ankle ahead of knee"),
        ("far", "opposite ankle ahead of knee"),
    ):
        truth["ankle_knee_cm", leg_name] = near[name] * leg
    truth["contact_length", "near"] = _contact_length(style)
    return truth


def _contact_length(style: Style) -> float:
    places = _places(style)
    ahead, behind = (
        places[event]["near ankle"][0] - places[event]["hip"][0] for event in ("touchdown", TOE_OFF)
    )
    return ahead - behind
