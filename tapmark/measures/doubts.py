"""Every number a step is read from, how sure it is, and what its doubt is called.

One Doubt is one independent source. Marking doubts (taps, choice of the picture) are new in every
step; set-up doubts (roll, side-on angle, far hip, scale) are shared by all steps of a set-up and
do not shrink when steps are pooled.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import dist, hypot, radians
from statistics import median

import numpy as np

from tapmark.marks.points import TOE_OFF
from tapmark.marks.run import KeyFrame, Point, Run, Step, Tap
from tapmark.measures.card import Card, kind_of
from tapmark.measures.result import Measured
from tapmark.measures.setting import Setting, roll_of

THE_FRAME = "the frame"
SQUARENESS = "side-on angle"
CAMERA_ROLL = "camera roll"
FAR_HIP = "the far hip"
BEHIND = "the knee behind the leg"
SHOULDER_TURN = "shoulder turn"
TURNING_MARKS = "the turning points"
THE_SCALE = "the scale"
LEG_LENGTH = "the leg length"
THE_STOPWATCH = "the stopwatch"

# How far a knee behind the leg may lie from the near one, 1 SD: a working value, common practice,
# no source.
BEHIND_CM = 4.6
# Same files as DEPTH_M below, key frames of 25 steps; the arithmetic is ours. The far hip stands
# off the near one by 1.0 to 1.5 cm along X (root mean square a key frame; 1.9 in the sprinter
# alone), and the near shoulder leans off the middle of both by 1.24° when both landings are
# averaged, because the turn reverses. At toe-off alone 2.5° is a working value: common practice,
# no source.
FAR_HIP_CM = {"x": 1.6, "y": 1.5}
SHOULDER_TURN_DEG = 1.2
_SHOULDER_TURN_ALONE_DEG = 2.5
# Of a picture, 1 SD: the choice of a frame that nobody doubts. By eye at 240 a second an SD of up
# to 7 ms, 1.7 pictures, was published (Martinez-Sobrino 2023, 10.52082/jssm.2023.790; abstract
# read): the upper end over what was timed, so of two choices each, by people who may not say
# "unsure". Half a picture is a working value at the hopeful end, common practice, no source;
# tests/long/power.py says what becomes of the verdicts where a coach slips by more. "Unsure" counts
# one or two pictures.
USUAL_SLIP = 0.5
FLAT_TURN_S = 0.0075  # a limb near its turn needs about 15 ms to move 1°: 95 % half-width, calc
# Beside the key frame a joint leaves the straight line by under 3 mm at 200 frames a second (half
# of 200 m/s² for 5 ms, calc); at slower rates pictures beside it say nothing about it.
LONGEST_BESIDE_S = 1 / 198
_SCALE_MARK_PCT_LEG = 0.5  # painted marks are sharper than joints: common practice, no source
_OFF_THE_LINE = 0.0125  # of the scale: marks and hip 15 cm apart in depth at 12 m; calc
_TAPE_CM = 1.0  # repeat of a leg length by tape: common practice, no source
_BY_HEIGHT = 0.03  # spread of leg ÷ height between people: from memory
_BODY_RATIO = 0.02  # spread of leg ÷ (thigh + shank) between people: from memory
_SHOE_TAP = 0.07  # of the heel–forefoot line: 1 cm on 15 cm, common practice, no source

# How far behind (+) the near hip's plane a point lies, in metres: means over the key frames of
# three published runs with all three coordinates (Dorn 2012, 10.1242/jeb.064527, a sprinter at two
# speeds; Hamner & Delp 2013, 10.1016/j.jbiomech.2012.11.024); the arithmetic is ours. The neck base
# stands midway between their hips. Between runs and key frames the means differ by 2 cm (1 SD).
_DEPTH_SD_M = 0.02
DEPTH_M = {
    "near knee": 0.01,
    "near ankle": 0.045,
    "near toe": 0.055,
    "shoulder": -0.09,
    "neck base": 0.08,
    "far knee": 0.155,
    "far ankle": 0.125,
    "far toe": 0.125,
    "far shoulder": 0.245,
}
# What a camera aimed askew moves, in metres of depth: the far side by hips 0.18 m apart (from
# memory); the rest are working values, common practice, no source.
_ASKEW_M = {
    "near knee": 0.03,
    "near ankle": 0.04,
    "near toe": 0.05,
    "shoulder": 0.05,
    "neck base": 0.16,
}
_FAR_ASKEW_M = 0.18  # from memory, as above
FAR_SIDE, BODY = "far side", "the body"
OFF_AXIS, AIM = "off axis", "aim"

Name = tuple[str, ...]


@dataclass(frozen=True)
class Doubt:
    """One source: the number that went in, its SD in the same unit, what to call it."""

    name: Name
    value: float
    sd: float
    words: str
    is_shared: bool = False


def doubts_of(run: Run, step: Step, card: Card, setting: Setting) -> tuple[Doubt, ...]:
    """Return every source of doubt of one side-view step, in a fixed order."""
    return (
        *_of_taps(run, step, card, setting),
        *_of_times(run, step, setting),
        *_of_body(step, setting),
        *_of_camera(run, setting),
        *_of_scale(run, setting),
    )


def tap_sd_px(tap: Tap, frame: KeyFrame, card: Card, leg_px: float) -> float:
    """Return the SD of one coordinate of a tap in px: twice for a guess, twice for a blur."""
    return doubled(tap, frame) * card.sd_pct_leg(tap.point) / 100.0 * leg_px


def doubled(tap: Tap, frame: KeyFrame) -> float:
    """Return the factor on the SD of a tap that was guessed, or on a blurred picture."""
    return (2.0 if tap.certainty == "guess" else 1.0) * (2.0 if frame.is_blurred else 1.0)


def _of_taps(run: Run, step: Step, card: Card, setting: Setting) -> Iterator[Doubt]:
    for frame in step.key_frames:
        for tap in frame.taps:
            if tap.at_px is not None:
                words = f"the {kind_of(tap.point)} tap"
                at_px, sd = _over_looks(step, frame, tap, card, setting)
                for axis, value in zip("xy", at_px, strict=True):
                    yield Doubt((frame.event, tap.point, axis), value, sd, words)
            elif tap.certainty == "behind":
                sd = hypot(setting.px(BEHIND_CM), from_behind_px(step, frame, run.travel_sign))
                for axis in "xy":
                    yield Doubt((frame.event, tap.point, f"behind {axis}"), 0.0, sd, BEHIND)


def n_looks(step: Step, frame: KeyFrame, point: str, interval_s: float) -> int:
    """Return how many taps of a point count on a key frame, the first one too."""
    return len(_looks(step, frame, point, interval_s))


def _looks(
    step: Step, frame: KeyFrame, point: str, interval_s: float
) -> list[tuple[int, KeyFrame, Tap]]:
    """Return (pictures after the key frame, where it was tapped, the tap) of every placed look."""
    ways = (0, -1, 1) if interval_s <= LONGEST_BESIDE_S else (0,)
    frames = [(0, frame), *((by, each) for by in ways for each in step.looks(frame.event, by))]
    found = ((by, each, each.tap(point)) for by, each in frames)
    return [(by, each, tap) for by, each, tap in found if tap and tap.at_px]


def _over_looks(
    step: Step, frame: KeyFrame, tap: Tap, card: Card, setting: Setting
) -> tuple[Point, float]:
    """Return where a point lies on its key frame by every look at it, and the SD of a coordinate.

    Looks at one picture are averaged; those at the pictures beside it are put back to the key
    frame by a straight line through all of them (least squares). A steady habit of tapping beside
    the joint is in every look and stays.
    """
    looks = _looks(step, frame, tap.point, setting.interval_s(frame))
    if tap.at_px and len(looks) == 1:
        return tap.at_px, tap_sd_px(tap, frame, card, setting.leg_px or 0.0)
    by = np.array([each[0] for each in looks], float)
    from_middle = by - by.mean()
    weights = 1.0 / len(by) - by.mean() * from_middle / (from_middle @ from_middle or 1.0)
    places = np.array([each.at_px for _, _, each in looks])
    leg_px = setting.leg_px or 0.0
    sds = np.array([tap_sd_px(t, on if after else frame, card, leg_px) for after, on, t in looks])
    x, y = weights @ places
    return (float(x), float(y)), float(np.hypot.reduce(weights * sds))


def from_behind_px(step: Step, frame: KeyFrame, sign: int) -> float:
    """Return how far from the near knee the far one should lie by hip, far ankle and the lengths of
    thigh and shank, in px; 0 where it cannot be told."""
    hip, knee, ankle = (frame.at(point) for point in ("hip", "near knee", "far ankle"))
    thigh, shank = _usual_px(step, "hip"), _usual_px(step, "ankle")
    if not (hip and knee and ankle and thigh and shank) or hip == ankle:
        return 0.0
    apart = dist(hip, ankle)
    down = min(max((thigh**2 - shank**2 + apart**2) / (2.0 * apart), -thigh), thigh)
    out = sign * (thigh**2 - down**2) ** 0.5  # a knee lies in front of the line
    ux, uy = (ankle[0] - hip[0]) / apart, (ankle[1] - hip[1]) / apart
    return dist(knee, (hip[0] + down * ux + out * uy, hip[1] + down * uy - out * ux))


def _usual_px(step: Step, other: str) -> float:
    """Return the median length from knee to hip or ankle over legs and key frames; 0 for none."""
    found = [
        dist(knee, end)
        for frame in step.key_frames
        for leg in ("near", "far")
        if (knee := frame.at(f"{leg} knee"))
        and (end := frame.at(other if other == "hip" else f"{leg} {other}"))
    ]
    return median(found) if found else 0.0


def _of_times(run: Run, step: Step, setting: Setting) -> Iterator[Doubt]:
    frames = [*step.key_frames, *([step.far_toe_off] if step.far_toe_off else [])]
    for frame in frames:
        interval = setting.interval_s(frame)
        slip = frame.unsure_by or USUAL_SLIP
        sd = interval * (1 / 12 + slip**2) ** 0.5
        time = run.true_time_s(frame.time_s)
        if time is None and setting.effective_hz:  # no true time, but shares of a step hold
            time = frame.picture / setting.effective_hz
        yield Doubt((frame.event, "time"), time or 0.0, sd, THE_FRAME)
    for mark in step.turning_marks:
        first, last = run.true_time_s(mark.first_s), run.true_time_s(mark.last_s)
        if first is not None and last is not None:
            sd = max((last - first) / 2 / 3**0.5, FLAT_TURN_S)
            yield Doubt((mark.limb, "turning"), (first + last) / 2, sd, TURNING_MARKS)


def _of_body(step: Step, setting: Setting) -> Iterator[Doubt]:
    for axis, cm in FAR_HIP_CM.items():
        yield Doubt(("far hip", axis), 0.0, setting.px(cm), FAR_HIP, is_shared=True)
    turns = {"at both landings": SHOULDER_TURN_DEG, TOE_OFF: _SHOULDER_TURN_ALONE_DEG}
    for when, turn_deg in turns.items():
        sd = radians(turn_deg)
        yield Doubt(("shoulder turn", when), 0.0, sd, SHOULDER_TURN, is_shared=True)


def _of_camera(run: Run, setting: Setting) -> Iterator[Doubt]:
    yield Doubt(("roll",), roll_of(run), radians(setting.roll_sd_deg), CAMERA_ROLL, is_shared=True)
    yield Doubt((BODY, OFF_AXIS), 0.0, 1.0, SQUARENESS, is_shared=True)
    for name in (FAR_SIDE, *_ASKEW_M):
        yield Doubt((name, OFF_AXIS), 0.0, _DEPTH_SD_M, SQUARENESS, is_shared=True)
        yield Doubt((name, AIM), 0.0, 1.0, SQUARENESS, is_shared=True)


def _of_scale(run: Run, setting: Setting) -> Iterator[Doubt]:
    if setting.px_per_m is not None and run.set_up.scale_px and run.set_up.scale_m:
        (x0, y0), (x1, y1) = run.set_up.scale_px
        tap = 2**0.5 * _SCALE_MARK_PCT_LEG / 100 * (setting.leg_px or 0.0) / hypot(x1 - x0, y1 - y0)
        oblique = 2.0 * setting.aim_tan * max(map(abs, setting.tan_off.values()), default=0.0)
        sd = setting.px_per_m * hypot(tap, _OFF_THE_LINE, oblique)
        yield Doubt(("px per m",), setting.px_per_m, sd, THE_SCALE, is_shared=True)
    if run.set_up.leg_cm:
        is_taped = run.set_up.leg_source == "tape"
        sd = _TAPE_CM if is_taped else _BY_HEIGHT * run.set_up.leg_cm
        if setting.px_per_m is None:
            sd = hypot(sd, _BODY_RATIO * run.set_up.leg_cm)
        yield Doubt(("leg cm",), run.set_up.leg_cm, sd, LEG_LENGTH, is_shared=True)


def askew_m(point: str) -> float:
    """Return how far behind the near hip a point counts where the camera's aim is in doubt, m."""
    return _FAR_ASKEW_M if point.startswith("far ") else _ASKEW_M.get(point, 0.0)


def depth_name(point: str) -> str:
    """Return the name of the side-on doubts that move a point; "" where none does."""
    return FAR_SIDE if point.startswith("far ") else point if point in _ASKEW_M else ""


def shoe_sd_px(line_px: float) -> float:
    """Return the SD of one coordinate of a tap on a shoe seen from behind, in px."""
    return max(_SHOE_TAP * line_px, 1.5)


WHAT_HELPS = {
    THE_FRAME: "film at 240 frames per second",
    SQUARENESS: "stand farther away and pick the step straight in front of the camera",
    CAMERA_ROLL: "have something truly vertical in the frame and tap it",
    FAR_HIP: "film the other side too: then this leg is the near one",
    BEHIND: "mark another pass in which the far knee can be seen",
    SHOULDER_TURN: "tap the neck base instead of the shoulder",
    TURNING_MARKS: "mark the same turn on another pass",
    THE_SCALE: "lay the scale marks on the runner's own line",
    LEG_LENGTH: "measure the leg by tape",
    THE_STOPWATCH: "time the runner by light gates or over a longer distance",
}
_TAPS = "mark another pass, or look twice to learn your own tapping error"


def what_helps(measured: Measured) -> str:
    """Return in a few words what would narrow this ± most; "" where nothing is known."""
    return WHAT_HELPS.get(measured.mostly, _TAPS) if measured.mostly else ""
