"""Marking checks of one step: words beside the picture about what may be a slip; never blocking."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from math import degrees, dist, hypot, pi

import numpy as np

from tapmark.geometry.planar import Array, hang_deg, joint_deg, length
from tapmark.geometry.uncertainty import combined, shares
from tapmark.marks.points import (
    LAST_CONTACT,
    MID_STANCE,
    MOST_TURNED,
    OPPOSITE_TOUCHDOWN,
    TOE_OFF,
    TOUCHDOWN,
)
from tapmark.marks.run import Run, Step
from tapmark.measures.card import DEFAULT_CARD, Card
from tapmark.measures.doubts import from_behind_px, tap_sd_px
from tapmark.measures.gates import other_arm
from tapmark.measures.likely_rate import LikelyRate, are_usual, likely_rates
from tapmark.measures.posture import Posture
from tapmark.measures.result import MarkingCheck
from tapmark.measures.setting import Setting, roll_of, setting_of, upright_of


def marking_checks(
    run: Run, i_step: int, posture: Posture, card: Card = DEFAULT_CARD
) -> tuple[MarkingCheck, ...]:
    """Return what may be a slip in the marking of one step, the most telling first."""
    return tuple(replace(check, i_step=i_step) for check in _of_step(run, i_step, posture, card))


def _of_step(run: Run, i_step: int, posture: Posture, card: Card) -> Iterator[MarkingCheck]:
    """Yield what may be a slip.

    A swap explains odd lengths and angles on the same picture, so those are not told again.
    """
    yield from contact_and_rate(run, posture)
    yield from taps_outside(run, posture.step)
    if run.view != "side":
        yield from late_most_turned(run, posture.step)
        return
    swaps = (*leg_in_the_air(posture), *knees_swapped(posture))
    told = {check.event for check in swaps}
    doubtful = (
        *knee_not_behind(run, posture),
        *over_straight_knees(posture),
        *lengths_off(posture),
        *looks_apart(posture, card),
    )
    yield from swaps
    yield from (check for check in doubtful if check.event not in told)
    yield from share_of_the_step(posture.step)
    yield from arm_of_the_other_side(posture)
    yield from still_accelerating(run, posture)
    if i_step == 0:  # of the run, told once
        yield from upright_doubtful(run)


# What counts as a slip: ours, tried on drawn runners, see the tests of this module.
LEAST_OFF, LEAST_OFF_U = 0.06, 2.8
BACKWARDS_U = 2.6
LEAST_BETTER_SWAPPED = 4.0  # chi-square; tried on drawn runners, see the tests of this module
FARTHEST_LOOKS_U = 3.7  # of the doubt of one coordinate: 1 in 1,000 honest pairs (Rayleigh)
FARTHEST_BEHIND_CM = 9.0  # 1.96 × 4.6 cm, see doubts.BEHIND_CM
ACCELERATING_DEG = -6.0  # common practice, no source
STANDING = {TOUCHDOWN: "near", MID_STANCE: "near", OPPOSITE_TOUCHDOWN: "far"}
LEAST_DROP = 0.65  # of thigh and shank: drawn legs stand at 0.79 and more, fold to 0.42 and less
_REAL_SCATTER = 0.04  # of a length: what real points do over a step (from memory)
_TIGHTEST_FOLD_DEG = 20.0  # a heel at the seat leaves about 30: from memory
_FEWEST_FOR_A_MEDIAN = 3

_SEGMENTS = (
    ("near thigh", "hip", "near knee"),
    ("near shank", "near knee", "near ankle"),
    ("far shank", "far knee", "far ankle"),
)


def taps_outside(run: Run, step: Step) -> Iterator[MarkingCheck]:
    """Yield a word for each tap that is not on the picture."""
    width, height = run.source.size_px
    if not (width and height):
        return
    for frame in step.key_frames:
        for tap in frame.taps:
            if tap.at_px and not (0 <= tap.at_px[0] <= width and 0 <= tap.at_px[1] <= height):
                words = f"The {tap.point} at {frame.event} lies outside the frame; tap it again."
                yield MarkingCheck("outside", words, frame.event, tap.point)


def lengths_off(posture: Posture) -> Iterator[MarkingCheck]:
    """Yield a word for a segment that is longer or shorter on one key frame than on the others."""
    for name, first, second in _SEGMENTS:
        found = _lengths(posture, first, second)
        usual = float(np.median([px for _, px, _ in found])) if found else 0.0
        if len(found) < _FEWEST_FOR_A_MEDIAN or not usual:
            continue
        widened = (1.0 + pi / 2.0 / len(found)) ** 0.5  # a median of n is in doubt itself
        for event, px, u in found:
            off = px / usual - 1.0
            if abs(off) > max(LEAST_OFF, LEAST_OFF_U * widened * u / usual):
                longer = "longer" if off > 0 else "shorter"
                yield MarkingCheck(
                    "length",
                    f"The {name} at {event} is {100 * abs(off):.0f} % {longer} than on the "
                    f"other key frames; look again at {first} and {second}.",
                    event,
                    second,
                )


def still_accelerating(run: Run, posture: Posture) -> Iterator[MarkingCheck]:
    """Yield a word where the shank leans forward at landing, as it does while speeding up."""
    event, points = TOUCHDOWN, ("near knee", "near ankle")
    if run.set_up.context == "acceleration" or not all(posture.has(event, p) for p in points):
        return
    reach = hang_deg(*(posture.at(event, point) for point in points))
    if reach[0] < ACCELERATING_DEG:
        yield MarkingCheck(
            "accelerating",
            f"At touchdown the ankle is {-reach[0]:.0f}° behind the knee: still accelerating? "
            "Then say so in the set-up.",
            event,
            "near ankle",
        )


def over_straight_knees(posture: Posture) -> Iterator[MarkingCheck]:
    """Yield a word for each knee that is bent backwards by more than the taps' doubt."""
    for (event, leg), (hip, knee, ankle) in _whole_legs(posture).items():
        angle = joint_deg(hang_deg(hip, knee), hang_deg(knee, ankle))
        if angle[0] > 180.0 + BACKWARDS_U * combined(shares(angle)):
            yield MarkingCheck(
                "backwards",
                f"The {leg} knee at {event} reads {angle[0]:.0f}°, bent backwards; look again at "
                f"hip, {leg} knee and {leg} ankle.",
                event,
                f"{leg} knee",
            )


def knees_swapped(posture: Posture) -> Iterator[MarkingCheck]:
    """Yield a word for each key frame whose knees fit the body much better the other way round."""
    usual = {
        "thigh": _usual(posture, ("hip", "near knee")),
        "shank": _usual(posture, ("near knee", "near ankle"), ("far knee", "far ankle")),
    }
    if not all(usual.values()):
        return
    for event in {event: None for event, _ in posture.points}:
        both = [(event, f"{leg} knee") in posture.points for leg in ("near", "far")]
        if all(both) and not _is_behind(posture, event):
            as_tapped = _misfit(posture, event, ("near", "far"), usual)
            swapped = _misfit(posture, event, ("far", "near"), usual)
            if as_tapped - swapped > LEAST_BETTER_SWAPPED:
                words = (
                    f"Near and far knee at {event} look swapped: the legs fit better the other way."
                )
                yield MarkingCheck("swapped", words, event, "near knee")


def leg_in_the_air(posture: Posture) -> Iterator[MarkingCheck]:
    """Yield a word where the leg that should stand on the ground is folded like the other one.

    From hip down to ankle, upright, it measures far less than thigh and shank together: then near
    and far leg are swapped. Hip, knee and ankle of that leg are enough to tell.
    """
    legs = _whole_legs(posture)
    for event, leg in STANDING.items():
        if (event, leg) not in legs:
            continue
        hip, knee, ankle = legs[event, leg]
        whole = float(length(hip, knee)[0] + length(knee, ankle)[0])
        if float((hip - ankle)[0][1]) < LEAST_DROP * whole:
            other = "far" if leg == "near" else "near"
            yield MarkingCheck(
                "legs",
                f"The {leg} foot lands or stands at {event}, but this leg is folded high: near and "
                f"far leg look swapped. Is it the {other} one?",
                event,
                f"{leg} knee",
            )


def knee_not_behind(run: Run, posture: Posture) -> Iterator[MarkingCheck]:
    """Yield a word for a far knee marked as behind the near one where that makes a shank of the
    wrong length, or a thigh: it lies elsewhere."""
    for frame in posture.step.key_frames:
        off_px = from_behind_px(posture.step, frame, run.travel_sign)
        if _is_behind(posture, frame.event) and off_px > posture.setting.px(FARTHEST_BEHIND_CM):
            yield MarkingCheck(
                "behind",
                f"Behind the near knee at {frame.event}, the far leg comes out too long or too "
                f"short: its knee should lie about {off_px / posture.setting.px(1.0):.0f} cm from "
                "there. Tap where it is, or mark it as hidden.",
                frame.event,
                "far knee",
            )


def looks_apart(posture: Posture, card: Card) -> Iterator[MarkingCheck]:
    """Yield a word for a later look at a point that lies far from the first one."""
    step, setting = posture.step, posture.setting
    for frame in step.key_frames:
        for look in step.looks(frame.event):
            for tap in look.taps:
                first = frame.tap(tap.point)
                if not (tap.at_px and first and first.at_px):
                    continue
                sds = (tap_sd_px(t, frame, card, setting.leg_px or 0.0) for t in (tap, first))
                apart_px = dist(tap.at_px, first.at_px)
                if apart_px > FARTHEST_LOOKS_U * hypot(*sds):
                    yield MarkingCheck(
                        "looks",
                        f"Two looks at the {tap.point} at {frame.event} lie "
                        f"{apart_px / setting.px(1.0):.0f} cm apart, and their mean counts: tap it "
                        "again where one of them slipped.",
                        frame.event,
                        tap.point,
                    )


def _lengths(posture: Posture, first: str, second: str) -> list[tuple[str, float, float]]:
    """Return key frame, length and standard uncertainty in px wherever a segment was tapped."""
    found = []
    for event, point in posture.points:
        if point == second and posture.has(event, first) and not _is_behind(posture, event):
            along = length(posture.at(event, first), posture.at(event, second))
            found.append((event, float(along[0]), combined(shares(along))))
    return found


def _usual(posture: Posture, *segments: tuple[str, str]) -> float:
    """Return the median length of some segments over the key frames, in px; 0 for none."""
    found = [px for segment in segments for _, px, _ in _lengths(posture, *segment)]
    return float(np.median(found)) if found else 0.0


def _whole_legs(posture: Posture) -> dict[tuple[str, str], tuple[Array, Array, Array]]:
    """Return (key frame, leg) → hip, knee and ankle of each leg that has them."""
    legs = {}
    for event, point in posture.points:
        leg, _, joint = point.partition(" ")
        whole = joint == "ankle" and posture.has(event, f"{leg} knee") and posture.has(event, "hip")
        if whole and not (leg == "far" and _is_behind(posture, event)):
            joints = (posture.hip, posture.knee, posture.ankle)
            hip, knee, ankle = (place(event, leg) for place in joints)
            legs[event, leg] = hip, knee, ankle
    return legs


def _is_behind(posture: Posture, event: str) -> bool:
    return (event, "far knee", "behind x") in posture.column


def _misfit(
    posture: Posture, event: str, knee_of: tuple[str, str], usual: Mapping[str, float]
) -> float:
    """Return chi-square of both legs' lengths and of knees bent backwards.

    knee_of: which tapped knee is taken for the near leg, and which for the far one.
    """
    total = 0.0
    for leg, tapped_as in zip(("near", "far"), knee_of, strict=True):
        if not posture.has(event, "hip"):
            continue
        hip, knee = posture.hip(event, leg), posture.knee(event, tapped_as)
        total += _length_misfit(length(hip, knee), usual["thigh"])
        if posture.has(event, f"{leg} ankle"):
            ankle = posture.ankle(event, leg)
            total += _length_misfit(length(knee, ankle), usual["shank"])
            angle = joint_deg(hang_deg(hip, knee), hang_deg(knee, ankle))
            beyond = max(0.0, float(angle[0]) - 180.0, _TIGHTEST_FOLD_DEG - float(angle[0]))
            total += (beyond / combined(shares(angle))) ** 2
    return total


def _length_misfit(along: Array, usual: float) -> float:
    u = hypot(combined(shares(along)), _REAL_SCATTER * usual)
    return float(((along[0] - usual) / u) ** 2)


# From memory: running from a jog to a sprint lies at 0.4 to 0.8 of the step. The two others are
# common practice, no source.
CONTACT_SHARE = (0.3, 0.9)
LATEST_MOST_TURNED_S = 0.060
LARGEST_ROLL_DEG = 15.0


def contact_and_rate(run: Run, posture: Posture) -> Iterator[MarkingCheck]:
    """Yield a word where contact time or step rate is not that of a runner."""
    times = Times.of(run, posture.step, posture.setting)
    odd = []
    if times.contact_s is not None and not are_usual(times.contact_s, None):
        odd.append(f"contact reads {1000 * times.contact_s:.0f} ms (usual: 60 to 280)")
    if times.step_s is not None and not are_usual(None, times.step_s):
        odd.append(f"the step rate reads {1 / times.step_s:.1f} a second (usual: 2.3 to 5.5)")
    if odd:
        words = " and ".join(odd)
        fix, likely = "Look again at the key frames and at the capture rate.", times.likely()
        if likely:
            fix = (
                f"{likely.question} Then the slow-motion factor is {likely.slow_factor:.3g}, not "
                f"{posture.setting.slow_factor or 1.0:.3g}."
            )
        yield MarkingCheck("time", f"{words[0].upper()}{words[1:]}. {fix}")


def likely_rate(run: Run, i_step: int) -> LikelyRate | None:
    """Return the rate that would make the times of a step a runner's; None where they are, or
    where none would."""
    times = Times.of(run, run.steps[i_step], setting_of(run, run.steps[i_step]))
    return None if are_usual(times.contact_s, times.step_s) else times.likely()


def share_of_the_step(step: Step) -> Iterator[MarkingCheck]:
    """Yield a word where key frames lie too close or too far apart, by counting pictures."""
    frames = [step.key_frame(event) for event in (TOUCHDOWN, TOE_OFF, OPPOSITE_TOUCHDOWN)]
    numbers = [frame.picture for frame in frames if frame]
    if len(numbers) < len(frames) or numbers[2] <= numbers[0]:
        return
    share = (numbers[1] - numbers[0] + 1) / (numbers[2] - numbers[0])
    if not CONTACT_SHARE[0] <= share <= CONTACT_SHARE[1]:
        yield MarkingCheck(
            "key frames",
            f"The foot is on the ground for {100 * share:.0f} % of the step; running has about "
            "40 to 80. Look again at touchdown, toe-off and opposite touchdown.",
            TOE_OFF,
        )


def late_most_turned(run: Run, step: Step) -> Iterator[MarkingCheck]:
    """Yield a word where the foot was looked at too long after it left the ground."""
    last, turned = (_time_s(run, step, e) for e in (LAST_CONTACT, MOST_TURNED))
    if last is not None and turned is not None and turned - last > LATEST_MOST_TURNED_S:
        yield MarkingCheck(
            "key frames",
            f"“Most turned” lies {1000 * (turned - last):.0f} ms after last contact; look for it "
            "within 60 ms.",
            MOST_TURNED,
        )


def arm_of_the_other_side(posture: Posture) -> Iterator[MarkingCheck]:
    """Yield a word where an arm turns so far from its thigh that it is probably the other one."""
    for limb, lag_s in other_arm(posture):
        yield MarkingCheck(
            "other arm",
            f"“{limb}” turns {abs(1000 * lag_s):.0f} ms from its thigh: the other "
            "elbow? The far elbow goes back as the far thigh comes up, the near hand forward as "
            "the near thigh goes back.",
        )


def upright_doubtful(run: Run) -> Iterator[MarkingCheck]:
    """Yield a word where the vertical reference cannot be one."""
    if run.set_up.upright_px is None:
        return
    upright = upright_of(run)
    if upright is None:
        yield MarkingCheck(
            "upright",
            "Both ends of the vertical reference lie on the same spot, so it is not used.",
        )
        return
    lean = degrees(abs(roll_of(run)))
    if lean > LARGEST_ROLL_DEG:
        yield MarkingCheck(
            "upright",
            f"The vertical reference leans {lean:.0f}° in the frame. Was it really vertical?",
        )


@dataclass(frozen=True)
class Times:
    """How long the foot was on the ground and a step took, true seconds; None = not known."""

    contact_s: float | None
    step_s: float | None
    setting: Setting

    @classmethod
    def of(cls, run: Run, step: Step, setting: Setting) -> "Times":
        """Return the times of a step at the rate that is stated."""
        first, off, last = (
            _time_s(run, step, event) for event in (TOUCHDOWN, TOE_OFF, OPPOSITE_TOUCHDOWN)
        )
        frame = step.key_frame(TOE_OFF)
        contact_s = step_s = None
        if first is not None and off is not None and frame is not None:
            contact_s = off - first + setting.interval_s(frame)
        if first is not None and last is not None and last > first:
            step_s = last - first
        return cls(contact_s, step_s, setting)

    def likely(self) -> LikelyRate | None:
        """Return the likeliest other rate that would make them usual."""
        factor, hz = self.setting.slow_factor, self.setting.rate_hz
        if not factor or not hz:
            return None
        found = likely_rates(self.contact_s, self.step_s, slow_factor=factor, file_hz=hz / factor)
        return found[0] if found else None


def _time_s(run: Run, step: Step, event: str) -> float | None:
    frame = step.key_frame(event)
    return run.true_time_s(frame.time_s) if frame else None
