"""Marking checks that look at times, pictures and the set-up."""

from collections.abc import Iterator
from dataclasses import dataclass
from math import degrees

import numpy as np

from tapmark.geometry.runner_axes import roll_rad
from tapmark.marks.points import LAST_CONTACT, MOST_TURNED, OPPOSITE_TOUCHDOWN, TOE_OFF, TOUCHDOWN
from tapmark.marks.run import Run, Step
from tapmark.measures.gates import other_arm
from tapmark.measures.likely_rate import LikelyRate, are_usual, likely_rates
from tapmark.measures.posture import Posture
from tapmark.measures.result import MarkingCheck
from tapmark.measures.setting import Setting, setting_of, upright_of

# From memory: running from a jog to a sprint lies at 0.4 to 0.8 of the step. The two others are
# common practice, no source.
CONTACT_SHARE = (0.3, 0.9)
LATEST_MOST_TURNED_S = 0.060
LARGEST_ROLL_DEG = 15.0


def contact_and_rate(run: Run, i_step: int, posture: Posture) -> Iterator[MarkingCheck]:
    """Yield a word where contact time or step rate is not that of a runner."""
    times = Times.of(run, posture.step, posture.setting)
    odd = []
    if times.contact_s is not None and not are_usual(times.contact_s, None):
        odd.append(f"contact reads {1000 * times.contact_s:.0f} ms (usual: 60 to 280)")
    if times.step_s is not None and not are_usual(None, times.step_s):
        odd.append(f"the step rate reads {1 / times.step_s:.1f} a second (usual: 2.3 to 5.5)")
    if odd:
        words = " and ".join(odd)
        fix = _likely_fix(times.likely(posture.setting), posture.setting)
        yield MarkingCheck("time", f"{words[0].upper()}{words[1:]}. {fix}", i_step)


def likely_rate(run: Run, i_step: int) -> LikelyRate | None:
    """Return the rate that would make the times of a step a runner's; None where they are, or
    where none would."""
    step = run.steps[i_step]
    setting = setting_of(run, step)
    times = Times.of(run, step, setting)
    return None if are_usual(times.contact_s, times.step_s) else times.likely(setting)


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


def arm_of_the_other_side(i_step: int, posture: Posture) -> Iterator[MarkingCheck]:
    """Yield a word where an arm turns so far from its thigh that it is probably the other one."""
    for limb, lag_s in other_arm(posture):
        yield MarkingCheck(
            "other arm",
            f"“{limb}” turns {abs(1000 * lag_s):.0f} ms from its thigh: the other "
            "elbow? The far elbow goes back as the far thigh comes up, the near hand forward as "
            "the near thigh goes back.",
            i_step,
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


def _likely_fix(likely: LikelyRate | None, setting: Setting) -> str:
    if likely is None:
        return "Look again at the key frames and at the capture rate."
    return (
        f"{likely.question} Then the slow-motion factor is {likely.slow_factor:.3g}, not "
        f"{setting.slow_factor or 1.0:.3g}."
    )


@dataclass(frozen=True)
class Times:
    """How long the foot was on the ground and a step took, true seconds; None = not known."""

    contact_s: float | None
    step_s: float | None

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
        return cls(contact_s, step_s)

    def likely(self, setting: Setting) -> LikelyRate | None:
        """Return the likeliest other rate that would make them usual."""
        factor, hz = setting.slow_factor, setting.rate_hz
        if not factor or not hz:
            return None
        found = likely_rates(self.contact_s, self.step_s, slow_factor=factor, file_hz=hz / factor)
        return found[0] if found else None


def _time_s(run: Run, step: Step, event: str) -> float | None:
    frame = step.key_frame(event)
    return run.true_time_s(frame.time_s) if frame else None


def _picture(step: Step, event: str) -> int | None:
    frame = step.key_frame(event)
    return frame.picture if frame else None


def _within(value: float, limits: tuple[float, float]) -> bool:
    return limits[0] <= value <= limits[1]
