"""Marking checks that look at times, pictures and the set-up."""

from collections.abc import Iterator
from math import degrees

import numpy as np

from tapmark.geometry.runner_axes import roll_rad
from tapmark.marks.points import LAST_CONTACT, MOST_TURNED, OPPOSITE_TOUCHDOWN, TOE_OFF, TOUCHDOWN
from tapmark.marks.run import Run, Step
from tapmark.measures.posture import Posture
from tapmark.measures.result import MarkingCheck
from tapmark.measures.setting import upright_of

CONTACT_MS = (60.0, 280.0)
STEPS_PER_S = (2.3, 5.5)
CONTACT_SHARE = (0.3, 0.9)  # of the step; running from a jog to a sprint lies at 0.4 to 0.8
LATEST_MOST_TURNED_S = 0.060
LARGEST_ROLL_DEG = 15.0
_FACTORS = (8.0, 4.0, 2.0, 0.5, 0.25, 0.125, 10.0)  # usual ratios of filmed to saved rate


def contact_and_rate(run: Run, i_step: int, posture: Posture) -> Iterator[MarkingCheck]:
    """Yield a word where contact time or step rate is not that of a runner."""
    contact_ms, rate = _contact_ms(run, posture), _steps_per_s(run, posture)
    odd = []
    if contact_ms is not None and not _within(contact_ms, CONTACT_MS):
        odd.append(f"contact reads {contact_ms:.0f} ms (usual: 60 to 280)")
    if rate is not None and not _within(rate, STEPS_PER_S):
        odd.append(f"the step rate reads {rate:.1f} a second (usual: 2.3 to 5.5)")
    if odd:
        words = " and ".join(odd)
        fix = _likely_fix(posture, contact_ms, rate)
        yield MarkingCheck("time", f"{words[0].upper()}{words[1:]}. {fix}", i_step)


def share_of_the_step(run: Run, i_step: int) -> Iterator[MarkingCheck]:
    """Yield a word where key frames lie too close or too far apart, by counting pictures."""
    step = run.steps[i_step]
    pictures = [_picture(step, event) for event in (TOUCHDOWN, TOE_OFF, OPPOSITE_TOUCHDOWN)]
    first, off, last = pictures
    if first is None or off is None or last is None or last <= first:
        return
    share = (off - first + 1) / (last - first)
    if not _within(share, CONTACT_SHARE):
        yield MarkingCheck(
            "key frames",
            f"The foot is on the ground for {100 * share:.0f} % of the step; running has about "
            "40 to 80. Look again at touchdown, toe-off and opposite touchdown.",
            i_step,
            TOE_OFF,
        )


def late_most_turned(run: Run, i_step: int) -> Iterator[MarkingCheck]:
    """Yield a word where the foot was looked at too long after it left the ground."""
    step = run.steps[i_step]
    times = [_time_s(run, step, event) for event in (LAST_CONTACT, MOST_TURNED)]
    last, turned = times
    if last is not None and turned is not None and turned - last > LATEST_MOST_TURNED_S:
        yield MarkingCheck(
            "key frames",
            f"“Most turned” lies {1000 * (turned - last):.0f} ms after last contact; look for it "
            "within 60 ms.",
            i_step,
            MOST_TURNED,
        )


def upright_doubtful(run: Run, i_step: int) -> Iterator[MarkingCheck]:
    """Yield a word where the vertical reference cannot be one."""
    if run.set_up.upright_px is None or i_step:
        return
    upright = upright_of(run)
    if upright is None:
        yield MarkingCheck(
            "upright",
            "Both ends of the vertical reference lie on the same spot, so it is not used.",
        )
        return
    lean = degrees(abs(float(roll_rad(np.array(upright[0]), np.array(upright[1])))))
    if lean > LARGEST_ROLL_DEG:
        yield MarkingCheck(
            "upright",
            f"The vertical reference leans {lean:.0f}° in the picture. Was it really vertical?",
        )


def _likely_fix(posture: Posture, contact_ms: float | None, rate: float | None) -> str:
    factor = posture.setting.slow_factor or 1.0
    hz = posture.setting.rate_hz
    for ratio in _FACTORS:
        fits_contact = contact_ms is None or _within(contact_ms / ratio, CONTACT_MS)
        if fits_contact and (rate is None or _within(rate * ratio, STEPS_PER_S)) and hz:
            filmed, saved = hz * ratio, hz / factor
            return (
                f"Filmed at {filmed:.0f} and saved at {saved:.0f} pictures a second? Then the "
                f"slow-motion factor is {factor * ratio:g}, not {factor:g}."
            )
    return "Look again at the key frames and at the capture rate."


def _contact_ms(run: Run, posture: Posture) -> float | None:
    first, last = (_time_s(run, posture.step, event) for event in (TOUCHDOWN, TOE_OFF))
    frame = posture.step.key_frame(TOE_OFF)
    if first is None or last is None or frame is None:
        return None
    return 1000.0 * (last - first + posture.setting.interval_s(frame))


def _steps_per_s(run: Run, posture: Posture) -> float | None:
    first, last = (_time_s(run, posture.step, event) for event in (TOUCHDOWN, OPPOSITE_TOUCHDOWN))
    return 1.0 / (last - first) if first is not None and last is not None and last > first else None


def _time_s(run: Run, step: Step, event: str) -> float | None:
    frame = step.key_frame(event)
    return run.true_time_s(frame.time_s) if frame else None


def _picture(step: Step, event: str) -> int | None:
    frame = step.key_frame(event)
    return frame.picture if frame else None


def _within(value: float, limits: tuple[float, float]) -> bool:
    return limits[0] <= value <= limits[1]
