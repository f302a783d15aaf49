"""The leg on the ground: a planted foot, the hip carried over it, the knee in between.

The asked angles fix where the hip is, over the planted foot, at touchdown, mid-stance and
toe-off. A smooth hip path runs through the three places, meeting the flight parabola at
both ends. The foot pitches about its heel or its toe, so what touches cannot slide or sink.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from tests.drawn_runner.body import Body
from tests.drawn_runner.curves import Array, Curve, Real, curve_through
from tests.drawn_runner.style import Style

GRAVITY = 9.81  # m/s², standard gravity 9.80665 rounded (CGPM 1901)
MOST_TOE_BEND = 26.0
"""Ours: the shoe bends at the ball by no more than this (degrees)."""

SETTLE_S = 0.024
"""A landing shoe comes to rest within this time; from then on it does not move at all.
Motion capture of a sprinter shows the same 10 to 20 ms (published data of Dorn 2012)."""


@dataclass(frozen=True)
class Stance:
    """One contact. Metres; X forward from the ankle of the flat foot, Y up from the ground."""

    body: Body
    speed: float
    mid_stance_s: float
    start_x: float
    slide: float
    pitch: Curve
    hip_height: Curve

    def hip(self, t: Array) -> tuple[Array, Array]:
        """Hip path at times t since touchdown, during contact."""
        return self.start_x + self.speed * t, self.hip_height(t)

    def leg(self, t: Array) -> tuple[Array, Array, Array]:
        """Thigh and shank from straight down and foot pitch, degrees, at times t."""
        pitch = self.pitch(t)
        hip_x, hip_y = self.hip(t)
        ankle_x, ankle_y = planted_ankle(self.body, pitch)
        ankle_x = ankle_x - still_to_slide(self.slide, t)
        return (*two_links(self.body, ankle_x - hip_x, ankle_y - hip_y), pitch)


def unit_down(angle: Real) -> tuple[Array, Array]:
    """Direction of a part hanging at an angle (degrees) from straight down, forward +."""
    rad = np.radians(angle)
    return np.sin(rad), -np.cos(rad)


def two_links(body: Body, dx: Array, dy: Array) -> tuple[Array, Array]:
    """Thigh and shank angle that bring the ankle to (dx, dy) from the hip, knee in front."""
    far = np.hypot(dx, dy)
    cos_at_hip = (body.thigh**2 + far**2 - body.shank**2) / (2 * body.thigh * far)
    opening = np.arccos(np.clip(cos_at_hip, -1.0, 1.0))
    thigh = np.arctan2(dx, -dy) + opening
    shank = np.arctan2(dx - body.thigh * np.sin(thigh), -dy - body.thigh * np.cos(thigh))
    return np.degrees(thigh), np.degrees(shank)


def toe_bend(pitch: Real) -> Array:
    """How far the loaded shoe bends at the ball (degrees) when the heel is raised by pitch."""
    return MOST_TOE_BEND * np.tanh(np.maximum(pitch, 0.0) / MOST_TOE_BEND)


def foot_points(body: Body, pitch: Real, bend: Real) -> dict[str, tuple[Array, Array]]:
    """Heel, ball and toe from the ankle, metres."""
    p, q = np.radians(pitch), np.radians(pitch - bend)
    down_x, down_y = -body.sole * np.sin(p), -body.sole * np.cos(p)
    ball = down_x + body.ball * np.cos(p), down_y - body.ball * np.sin(p)
    tip = body.toe - body.ball
    return {
        "heel": (down_x - body.heel * np.cos(p), down_y + body.heel * np.sin(p)),
        "ball": ball,
        "toe": (ball[0] + tip * np.cos(q), ball[1] - tip * np.sin(q)),
    }


def planted_ankle(body: Body, pitch: Real) -> tuple[Array, Array]:
    """Ankle over the planted foot: the toe stays where it is, or the heel if toes are up."""
    foot = foot_points(body, pitch, toe_bend(pitch))
    on_heel = np.asarray(pitch) < 0
    still_x = np.where(on_heel, -body.heel - foot["heel"][0], body.toe - foot["toe"][0])
    return still_x, -np.where(on_heel, foot["heel"][1], foot["toe"][1])


def still_to_slide(speed: float, t: Array) -> Array:
    """How far (m) a shoe that touched at the given speed has still to slide at time t."""
    return speed * SETTLE_S / 3 * np.clip(1 - t / SETTLE_S, 0.0, 1.0) ** 3


def _hip_over_ankle(body: Body, thigh: float, knee: float) -> tuple[float, float]:
    """Hip seen from the ankle for a thigh and a knee angle."""
    thigh_x, thigh_y = unit_down(thigh)
    shank_x, shank_y = unit_down(thigh + knee - 180.0)
    return (
        float(-body.thigh * thigh_x - body.shank * shank_x),
        float(-body.thigh * thigh_y - body.shank * shank_y),
    )


def _bisect(f: Callable[[float], float], low: float, high: float) -> float:
    """Where f, rising from negative to positive between low and high, is nil."""
    if f(low) > 0 or f(high) < 0:
        raise ValueError("the asked angles cannot be met by this body")
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if f(middle) < 0 else (low, middle)
    return 0.5 * (low + high)


def _toe_off_pitch(body: Body, style: Style) -> float:
    """Foot pitch at which the line from toe to hip has the asked drive angle."""
    over_x, over_y = _hip_over_ankle(body, style.thigh_toe_off, style.knee_toe_off)

    def excess(pitch: float) -> float:
        ankle_x, ankle_y = planted_ankle(body, pitch)
        lean = np.arctan2(ankle_x + over_x - body.toe, ankle_y + over_y)
        return float(np.degrees(lean)) - style.drive

    return _bisect(excess, 5.0, 100.0)


def _pitch_curve(style: Style, at_toe_off: float) -> Curve:
    """Foot pitch over the contact: down to flat, a moment flat, then over the toe."""
    flat, rise, end = style.foot_flat_s, style.heel_rise_s, style.contact_s
    return curve_through(
        (0.0, flat, rise, end),
        (style.foot_touchdown, 0.0, 0.0, at_toe_off),
        (-1.6 * style.foot_touchdown / flat, 0.0, 0.0, 1.9 * at_toe_off / (end - rise)),
    )


def stance_of(style: Style) -> Stance:
    """The contact that meets the asked angles. ValueError if the body cannot."""
    body = Body(style.height_m)
    thigh = style.reach + 180.0 - style.knee_touchdown
    x0, y0 = _hip_over_ankle(body, thigh, style.knee_touchdown)
    ankle_x, ankle_y = planted_ankle(body, style.foot_touchdown)
    start = float(ankle_x) - style.landing_slide * SETTLE_S / 3
    x0, y0 = x0 + start, y0 + float(ankle_y)
    pitch = _toe_off_pitch(body, style)
    x1, y1 = _hip_over_ankle(body, style.thigh_toe_off, style.knee_toe_off)
    ankle_x, ankle_y = planted_ankle(body, pitch)
    x1, y1 = x1 + float(ankle_x), y1 + float(ankle_y)
    speed = (x1 - x0) / style.contact_s
    mid_stance = -x0 / speed
    knee = np.radians(style.knee_mid_stance)
    stack = np.sqrt(
        body.thigh**2 + body.shank**2 - 2 * body.thigh * body.shank * float(np.cos(knee))
    )
    up = (y0 - y1) / style.flight_s + 0.5 * GRAVITY * style.flight_s
    heights = curve_through(
        (0.0, mid_stance, style.contact_s),
        (y0, float(stack) + body.sole, y1),
        (up - GRAVITY * style.flight_s, None, up),
    )
    turning = _pitch_curve(style, pitch)
    return Stance(body, speed, mid_stance, x0, style.landing_slide, turning, heights)
