"""The running motion: where every joint is at any time.

Both legs repeat the same two steps, half a cycle apart. On the ground the leg follows
from hip and planted foot (stance.py); in the air thigh, knee and ankle follow smooth
curves through the asked values. Between contacts the hip flies a true parabola.

Time 0 is the touchdown of the near foot. Runner's world, metres: X forward from the near
foot's first flat ankle, Y up from the ground, Z in depth, away from the camera.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from tests.drawn_runner import body as build
from tests.drawn_runner.curves import Array, Curve, curve_through
from tests.drawn_runner.stance import (
    GRAVITY,
    Stance,
    foot_points,
    stance_of,
    toe_bend,
    unit_down,
)
from tests.drawn_runner.style import Style

FOOT_RELAXES_S = 0.03
"""Ours: a bent shoe is straight again so long after it has left the ground."""


@dataclass(frozen=True)
class Motion:
    """One runner in endless steady running. Times are seconds; arrays of any shape."""

    style: Style
    stance: Stance
    thigh: Curve
    knee: Curve
    foot_point: Curve

    @property
    def step_length(self) -> float:
        """Metres the hip moves from touchdown to touchdown."""
        return self.stance.speed * self.style.step_s

    def hip(self, t: Array) -> tuple[Array, Array]:
        """Hip in X and Y."""
        since = np.mod(t, self.style.step_s)
        contact, flying = self.style.contact_s, since - self.style.contact_s
        up = self.stance.hip_height.slopes[-1]
        falling = self.stance.hip_height.values[-1] + flying * (up - 0.5 * GRAVITY * flying)
        height = np.where(flying > 0, falling, self.stance.hip_height(np.minimum(since, contact)))
        return self.stance.start_x + self.stance.speed * t, height

    def leg(self, since: Array) -> tuple[Array, Array, Array, Array]:
        """Thigh, shank, foot pitch and shoe bend (degrees) of a leg, by time since it landed."""
        since = np.mod(since, 2 * self.style.step_s)
        down = since <= self.style.contact_s
        thigh, shank, pitch = self.stance.leg(np.minimum(since, self.style.contact_s))
        thigh = np.where(down, thigh, self.thigh(since))
        shank = np.where(down, shank, self.thigh(since) + self.knee(since) - 180.0)
        pitch = np.where(down, pitch, self.foot_point(since) - shank)
        bend = np.where(down, toe_bend(pitch), self._bend_in_the_air(since))
        return thigh, shank, pitch, bend

    def _bend_in_the_air(self, since: Array) -> Array:
        """The bend of toe-off fades, that of the next touchdown grows."""
        left = 1 - (since - self.style.contact_s) / FOOT_RELAXES_S
        coming = 1 - (2 * self.style.step_s - since) / FOOT_RELAXES_S
        last = toe_bend(self.stance.pitch.values[-1:])[0]
        first = toe_bend(self.stance.pitch.values[:1])[0]
        bend: Array = last * _ease(left) + first * _ease(coming)
        return bend

    def trunk_lean(self, t: Array) -> Array:
        """Forward lean of the line from hip to neck base, degrees."""
        sway = self.style.trunk_sway
        turn = 2 * np.pi * t / self.style.step_s
        return self.style.trunk_lean - sway + sway * np.cos(turn)

    def arm_phase(self, t: Array) -> Array:
        """+1 when the near arm is furthest forward, -1 when furthest back."""
        turns = self.style.contact_s + self.style.arm_delay_s
        return np.cos(np.pi * (t - turns) / self.style.step_s)

    def joints(self, t: Array) -> dict[str, Array]:
        """Every named point, each of shape t.shape + (3,); "far hip" and shoe balls too."""
        t = np.asarray(t, float)
        hip_x, hip_y = self.hip(t)
        half = build.HIPS_APART_M / 2
        named = {
            "hip": _place(hip_x, hip_y, -half),
            "far hip": _place(hip_x, hip_y, half),
        }
        for side, sign, since in (("near", -1, t), ("far", 1, t + self.style.step_s)):
            named |= self._leg_points(side, sign, named["hip"], since)
        return named | self._upper_points(t, named["hip"])

    def _leg_points(self, side: str, sign: int, hip: Array, since: Array) -> dict[str, Array]:
        body = self.stance.body
        thigh, shank, pitch, bend = self.leg(since)
        depth = sign * build.FEET_APART_M / 2
        knee = _beyond(hip, body.thigh, unit_down(thigh), sign * build.HIPS_APART_M / 2)
        ankle = _beyond(knee, body.shank, unit_down(shank), depth)
        points = {f"{side} knee": knee, f"{side} ankle": ankle}
        for name, offset in foot_points(body, pitch, bend).items():
            points[f"{side} {name}"] = _beyond(ankle, 1.0, offset, depth)
        return points

    def _upper_points(self, t: Array, hip: Array) -> dict[str, Array]:
        body, style = self.stance.body, self.style
        lean = np.radians(self.trunk_lean(t))
        along = np.sin(lean), np.cos(lean)
        points = {"neck base": _beyond(hip, body.neck, along, 0.0)}
        middle = _beyond(hip, body.part("hip to shoulder"), along, 0.0)
        points["middle of the shoulders"] = middle
        half = build.SHOULDERS_APART_M / 2
        for prefix, sign in (("", -1), ("far ", 1)):
            phase = -sign * self.arm_phase(t)
            turn = np.radians(style.shoulder_turn * phase)
            shoulder = middle + _place(half * np.sin(turn), 0 * turn, sign * half * np.cos(turn))
            upper = style.arm_middle + style.arm_swing * phase
            elbow_angle = style.elbow_middle - style.elbow_opening * phase
            depth = sign * half
            elbow = _beyond(shoulder, body.part("upper arm"), unit_down(upper), depth)
            fore = unit_down(upper + 180.0 - elbow_angle)
            wrist = _beyond(elbow, body.part("forearm"), fore, 0.8 * depth)
            hand = _beyond(wrist, 0.35 * body.part("hand"), fore, 0.8 * depth)
            points |= {f"{prefix}shoulder": shoulder, f"{prefix}elbow": elbow}
            side = prefix or "near "
            points |= {f"{side}wrist": wrist, f"{side}hand": hand}
        return points


def _ease(share: Array) -> Array:
    """0 to 1 without a corner at either end."""
    u = np.clip(share, 0.0, 1.0)
    return u * u * (3 - 2 * u)


def _place(x: Array, y: Array, z: Array | float) -> Array:
    return np.stack(np.broadcast_arrays(x, y, z), axis=-1)


def _beyond(start: Array, length: float, way: tuple[Array, Array], depth: float) -> Array:
    """The point a length further along a direction in the side plane, at a given depth."""
    return _place(start[..., 0] + length * way[0], start[..., 1] + length * way[1], depth)


def _rates_at_toe_off(style: Style, stance: Stance) -> tuple[float, float]:
    """Turning of thigh and knee as the foot leaves the ground, degrees a second."""
    gap = 1e-5
    thigh, shank, _ = stance.leg(np.array([style.contact_s - gap, style.contact_s]))
    knee = 180.0 - thigh + shank
    return float(np.diff(thigh)[0]) / gap, float(np.diff(knee)[0]) / gap


def _without_overshoot(before: float, after: float) -> float:
    """A slope between two mean slopes with which a cubic rises without dipping first.

    The harmonic mean (Fritsch and Butland 1984); 0 where the two have opposite signs.
    """
    return 2 * before * after / (before + after) if before * after > 0 else 0.0


@lru_cache(maxsize=256)
def motion_of(style: Style) -> Motion:
    """The motion that meets a style. ValueError if this body cannot."""
    stance = stance_of(style)
    thigh_rate, knee_rate = _rates_at_toe_off(style, stance)
    step, off = style.step_s, style.contact_s
    peak = step + off + style.peak_delay_s
    back = off + style.turn_delay_s
    lands = 2 * step
    rear = style.thigh_toe_off + 0.5 * thigh_rate * style.turn_delay_s
    landing = style.reach + 180.0 - style.knee_touchdown
    before = (style.swing_thigh - rear) / (step - back)
    after = (style.peak_thigh - style.swing_thigh) / (peak - step)
    swing = style.swing_rate or _without_overshoot(before, after)
    thigh = curve_through(
        (off, back, step, peak, lands),
        (style.thigh_toe_off, rear, style.swing_thigh, style.peak_thigh, landing),
        (thigh_rate, 0.0, swing, 0.0, style.thigh_landing_rate),
    )
    knee = curve_through(
        (off, step, step + stance.mid_stance_s, peak, lands - 0.03, lands),
        (
            style.knee_toe_off,
            style.swing_knee,
            style.fold,
            style.knee_at_peak,
            style.knee_before_landing,
            style.knee_touchdown,
        ),
        (knee_rate, None, None, None, None, style.knee_landing_rate),
    )
    return Motion(style, stance, thigh, knee, _foot_point_curve(style, stance, peak))


def _foot_point_curve(style: Style, stance: Stance, peak: float) -> Curve:
    """How far the foot points down against the shank while in the air, degrees."""
    step, off = style.step_s, style.contact_s
    at_off = float(stance.pitch.values[-1]) + style.thigh_toe_off + style.knee_toe_off - 180.0
    return curve_through(
        (off, off + 0.012, step, peak, 2 * step - 0.035, 2 * step),
        (
            at_off,
            at_off + 4.0,
            style.foot_point_swing,
            -4.0,
            -3.0,
            style.foot_touchdown + style.reach,
        ),
        (600.0, 0.0, None, None, None, 0.0),
    )
