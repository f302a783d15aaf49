"""The two invented athletes of the samples. Codes, builds and numbers are made up."""

from dataclasses import replace

from tests.drawn_runner.style import Style

RUNS_WELL = Style()
"""Code P01: a sprinter at full speed with nothing to mend."""

OVERSTRIDES = Style(
    height_m=1.70,
    contact_s=0.120,
    flight_s=0.125,
    reach=21.0,
    knee_touchdown=173.0,
    foot_touchdown=-14.0,
    foot_flat_s=0.020,
    knee_mid_stance=114.0,
    heel_rise_s=0.050,
    thigh_toe_off=-23.0,
    knee_toe_off=158.0,
    drive=26.0,
    turn_delay_s=0.070,
    swing_thigh=-33.0,
    swing_knee=95.0,
    fold=66.0,
    peak_thigh=52.0,
    peak_delay_s=0.006,
    knee_at_peak=88.0,
    knee_before_landing=174.0,
    foot_point_swing=14.0,
    landing_slide=3.8,
    thigh_landing_rate=-200.0,
    knee_landing_rate=-100.0,
    trunk_lean=2.0,
    trunk_sway=1.0,
    arm_swing=38.0,
    elbow_middle=96.0,
)
"""Code P02: lands far ahead on a straight leg, knees apart, and sits in mid-stance."""

LATE_LEG = replace(OVERSTRIDES, swing_thigh=-52.0, turn_delay_s=0.090, swing_knee=100.0)
"""P02 on the first of three visits: the rear leg comes through later still."""
LATER_LEG = replace(LATE_LEG, swing_thigh=-51.0)
"""The same runner five weeks on, hardly changed."""
