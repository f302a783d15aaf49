"""What a careful coach's taps look like: the truth with honest errors, seeded.

Common practice, no source: the spreads (standard deviation per coordinate, % of leg length), and
that a key frame is missed by one picture 12.5 % of the time each way.
"""

from collections.abc import Mapping
from types import MappingProxyType

import numpy as np

from tests.drawn_runner.camera import View
from tests.drawn_runner.drawn import Picture, key_pictures, leg_px, true_taps
from tests.drawn_runner.style import Style

Taps = dict[str, dict[str, tuple[float, float]]]

TAP_SD_PERCENT = MappingProxyType(
    {"hip": 2.2, "shoulder": 1.6, "far shoulder": 1.6, "neck base": 1.6}
)
ELSEWHERE_SD_PERCENT = 1.1
"""Knees, ankles, elbows, toes, heels, wrists. Common practice, no source."""

SLIP_EACH_WAY = 0.125  # common practice, no source


def tapping_error(
    truth: Mapping[str, Mapping[str, tuple[float, float]]], seed: int, leg_px: float
) -> Taps:
    """The true points (event -> point -> x, y in px) as a coach with this seed taps them."""
    random = np.random.default_rng(seed)
    return {
        event: {name: _tap(random, name, xy, leg_px) for name, xy in points.items()}
        for event, points in truth.items()
    }


def _tap(
    random: np.random.Generator, name: str, xy: tuple[float, float], leg_px: float
) -> tuple[float, float]:
    spread = leg_px / 100 * TAP_SD_PERCENT.get(name, ELSEWHERE_SD_PERCENT)
    dx, dy = random.normal(0.0, spread, 2)
    return float(xy[0] + dx), float(xy[1] + dy)


def slipped(pictures: Mapping[str, Picture], seed: int, rate: float) -> dict[str, Picture]:
    """The pictures the coach stops at: each may be one too early or too late."""
    random = np.random.default_rng([seed, 1])
    each = (SLIP_EACH_WAY, 1 - 2 * SLIP_EACH_WAY, SLIP_EACH_WAY)
    slips = random.choice((-1, 0, 1), size=len(pictures), p=each)
    return {
        event: Picture(picture.number + int(slip), picture.time_s + int(slip) / rate)
        for (event, picture), slip in zip(pictures.items(), slips, strict=True)
    }


def tapped_step(
    style: Style, view: View, rate: float, phase: float, seed: int
) -> tuple[dict[str, Picture], Taps]:
    """One marked step: the pictures stopped at (slips included) and the taps on them (px)."""
    pictures = slipped(key_pictures(style, rate, phase), seed, rate)
    truth = true_taps(style, view, {event: p.time_s for event, p in pictures.items()})
    return pictures, tapping_error(truth, seed, leg_px(style, view))
