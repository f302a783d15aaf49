"""What a drawn runner is asked to do: angles at the key frames, times, build.

Degrees throughout. Trunk: lean forward +. Thigh: from straight down, knee ahead +.
Shank: from straight down, ankle ahead of the knee +. Knee: 180 straight, less = bent.
Foot pitch: heel raised +, toes raised -. Both legs do the same, one step apart.
Speed is not asked for: it follows from the ground the hip covers in contact, which the
angles fix, and from the contact time.
"""

from dataclasses import dataclass

EVENTS = ("touchdown", "mid-stance", "toe-off", "peak knee lift", "opposite touchdown")

POINTS = (
    "shoulder",
    "elbow",
    "hip",
    "near knee",
    "near ankle",
    "near toe",
    "near heel",
    "near wrist",
    "far knee",
    "far ankle",
    "far toe",
    "far heel",
    "far shoulder",
    "far elbow",
    "far wrist",
    "neck base",
)
"""All points with a known true place. Shoulder, elbow, hip without a word are the near ones."""


@dataclass(frozen=True)
class Style:
    """One way of running. The defaults are a good sprinter at full speed."""

    height_m: float = 1.78
    contact_s: float = 0.105
    flight_s: float = 0.120
    # stance leg
    reach: float = 3.0
    knee_touchdown: float = 152.0
    foot_touchdown: float = 12.0
    knee_mid_stance: float = 140.0
    foot_flat_s: float = 0.026
    """The foot lies flat so long after touchdown."""
    heel_rise_s: float = 0.034
    """The heel begins to rise so long after touchdown."""
    thigh_toe_off: float = -27.0
    knee_toe_off: float = 160.0
    drive: float = 29.5
    # swing leg
    turn_delay_s: float = 0.020
    swing_thigh: float = 5.0
    swing_knee: float = 50.0
    swing_rate: float = 0.0
    """Turning of the swing thigh as the other foot lands, degrees a second; 0: an even swing."""
    fold: float = 40.0
    peak_thigh: float = 68.0
    peak_delay_s: float = 0.008
    """Peak knee lift after toe-off of the other foot; below 0 it comes before."""
    knee_at_peak: float = 92.0
    knee_before_landing: float = 154.0
    foot_point_swing: float = 18.0
    """The foot points down so much against the shank as it swings through."""
    # landing
    landing_slide: float = 2.0
    """Forward speed of the shoe as it touches, m/s; it comes to rest within SETTLE_S."""
    thigh_landing_rate: float = -250.0
    knee_landing_rate: float = -600.0
    """Turning of thigh and knee just before the foot lands, degrees a second."""
    # trunk and arms
    trunk_lean: float = 7.0
    trunk_sway: float = 1.5
    """The lean at touchdown is the largest of the step; it falls by twice this much."""
    shoulder_turn: float = 8.0
    arm_middle: float = -16.0
    arm_swing: float = 46.0
    elbow_middle: float = 90.0
    elbow_opening: float = 18.0
    arm_delay_s: float = 0.025
    """The arms turn so long after toe-off."""

    @property
    def step_s(self) -> float:
        """Touchdown of one foot to touchdown of the other, seconds."""
        return self.contact_s + self.flight_s
