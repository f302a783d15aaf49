"""How long the parts of a drawn runner are.

Fractions of standing height: Drillis and Contini (1964, 1966) as drawn by Winter,
Biomechanics and Motor Control of Human Movement. Two numbers come from elsewhere and
say so below. The hips and shoulders also have a place in depth (Z, away from the camera).
"""

from dataclasses import dataclass
from types import MappingProxyType

FRACTIONS = MappingProxyType(
    {
        "foot height": 0.039,
        "foot length": 0.152,
        "shank": 0.246,
        "thigh": 0.245,
        "hip height": 0.530,
        "hip to shoulder": 0.288,
        "upper arm": 0.186,
        "forearm": 0.146,
        "hand": 0.108,
    }
)
NECK_BASE = 0.3055
"""Hip to neck base over height: mid-hip to breastbone notch of de Leva 1996 (men)."""

HEEL_BEHIND_ANKLE = 0.040
BALL_AHEAD_OF_ANKLE = 0.070
"""Where the ankle stands over the foot, and where the shoe bends: common practice, no source."""

HIPS_APART_M = 0.18
SHOULDERS_APART_M = 0.36
FEET_APART_M = 0.10
"""Distances in depth of a grown runner. Common practice, no source."""


@dataclass(frozen=True)
class Body:
    """Segment lengths in metres of one person of the given standing height (m)."""

    height: float

    def part(self, name: str) -> float:
        """Length in metres of a part named in FRACTIONS."""
        return FRACTIONS[name] * self.height

    @property
    def thigh(self) -> float:
        return self.part("thigh")

    @property
    def shank(self) -> float:
        return self.part("shank")

    @property
    def leg(self) -> float:
        """Hip to ground, standing: the length that percentages of the leg refer to."""
        return self.part("hip height")

    @property
    def sole(self) -> float:
        """Ankle above the sole."""
        return self.part("foot height")

    @property
    def heel(self) -> float:
        """Heel behind the ankle, along the sole."""
        return HEEL_BEHIND_ANKLE * self.height

    @property
    def ball(self) -> float:
        """The line across which the shoe bends, ahead of the ankle, along the sole."""
        return BALL_AHEAD_OF_ANKLE * self.height

    @property
    def toe(self) -> float:
        """Shoe tip ahead of the ankle, along the sole."""
        return self.part("foot length") - self.heel

    @property
    def neck(self) -> float:
        """Neck base above the hip, along the trunk."""
        return NECK_BASE * self.height
