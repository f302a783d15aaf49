"""The motion keeps its promises: asked angles, planted feet, true flight, whole cycles."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from tests.drawn_runner.athletes import OVERSTRIDES, RUNS_WELL
from tests.drawn_runner.drawn import key_times
from tests.drawn_runner.motion import motion_of
from tests.drawn_runner.stance import SETTLE_S
from tests.drawn_runner.style import Style

BOTH = pytest.mark.parametrize("style", [RUNS_WELL, OVERSTRIDES], ids=["P01", "P02"])
G = 9.81  # m/s², standard gravity 9.80665 rounded (CGPM 1901)


def joints(style: Style, t: np.ndarray) -> dict[str, np.ndarray]:
    return motion_of(style).joints(np.asarray(t, float))


@BOTH
def test_every_bone_keeps_its_length_all_the_time(style: Style) -> None:
    at, height = joints(style, np.linspace(0, 2 * style.step_s, 500)), style.height_m
    side = {name: point[..., :2] for name, point in at.items()}
    for a, b, fraction in (
        ("hip", "near knee", 0.245),
        ("near knee", "near ankle", 0.246),
        ("hip", "far knee", 0.245),
        ("far knee", "far ankle", 0.246),
        ("shoulder", "elbow", 0.186),
        ("elbow", "near wrist", 0.146),
        ("far elbow", "far wrist", 0.146),
        ("hip", "neck base", 0.3055),
    ):
        lengths = np.linalg.norm(side[a] - side[b], axis=-1)
        assert lengths == pytest.approx(np.full(500, fraction * height))


@BOTH
def test_nothing_ever_goes_below_the_ground(style: Style) -> None:
    at = joints(style, np.linspace(0, 2 * style.step_s, 4000))
    lowest = min(at[f"{side} {p}"][:, 1].min() for side in ("near", "far") for p in SHOE)
    assert -1e-12 < lowest < 1e-9


SHOE = ("heel", "ball", "toe")


@BOTH
def test_the_shoe_touches_through_the_whole_contact(style: Style) -> None:
    at = joints(style, np.linspace(0, style.contact_s, 400))
    lowest = np.min([at[f"near {p}"][:, 1] for p in SHOE], axis=0)
    assert np.zeros(400) == pytest.approx(lowest, abs=1e-12)


@BOTH
def test_the_shoe_is_in_the_air_outside_the_contact(style: Style) -> None:
    at = joints(style, np.linspace(style.contact_s + 0.004, 2 * style.step_s - 0.004, 800))
    lowest = np.min([at[f"near {p}"][:, 1] for p in SHOE], axis=0)
    assert lowest.min() > 0.0005


@BOTH
def test_the_toe_does_not_move_once_the_shoe_has_come_to_rest(style: Style) -> None:
    at = joints(style, np.linspace(max(SETTLE_S, style.foot_flat_s), style.contact_s, 300))
    assert np.ptp(at["near toe"][:, :2], axis=0) == pytest.approx([0, 0], abs=1e-9)


@BOTH
def test_a_landing_shoe_slides_less_than_the_length_of_a_thumb(style: Style) -> None:
    # Motion capture of a sprinter at 9.5 m/s (Dorn 2012, released data): the ankle comes to
    # rest 10 to 20 ms after first force and about 2 cm further on.
    part = "heel" if style.foot_touchdown < 0 else "toe"
    x = joints(style, np.linspace(0, SETTLE_S, 50))[f"near {part}"][:, 0]
    assert np.all(np.diff(x) >= -1e-12)
    assert 0.0 < x[-1] - x[0] < 0.035


@BOTH
def test_the_hip_flies_a_parabola(style: Style) -> None:
    t = np.linspace(style.contact_s, style.step_s, 3)
    low, middle, high = joints(style, t)["hip"][:, 1]
    assert G * style.flight_s**2 / 8 == pytest.approx(middle - (low + high) / 2, rel=1e-9)


@BOTH
def test_hip_speed_does_not_jump_between_ground_and_air(style: Style) -> None:
    gap = 1e-6
    for moment in (style.contact_s, style.step_s):
        before, at, after = joints(style, moment + np.array([-gap, 0, gap]))["hip"][:, :2]
        assert (at - before) / gap == pytest.approx((after - at) / gap, abs=1e-3)


@BOTH
def test_two_steps_later_everything_is_the_same_further_on(style: Style) -> None:
    t = np.linspace(0.003, style.step_s, 40)
    now, later = joints(style, t), joints(style, t + 2 * style.step_s)
    moved = np.array([2 * motion_of(style).step_length, 0, 0])
    for name, point in now.items():
        assert later[name] == pytest.approx(point + moved, abs=1e-9), name


@BOTH
def test_one_step_later_the_far_leg_does_what_the_near_leg_did(style: Style) -> None:
    t = np.linspace(0.003, style.step_s, 40)
    now, later = joints(style, t), joints(style, t + style.step_s)
    moved = np.array([motion_of(style).step_length, 0])
    for part in ("knee", "ankle", "heel", "toe"):
        assert later[f"far {part}"][:, :2] == pytest.approx(
            now[f"near {part}"][:, :2] + moved, abs=1e-9
        )


@BOTH
def test_no_point_jumps(style: Style) -> None:
    rate = 4800
    at = joints(style, np.arange(0, 2 * style.step_s, 1 / rate))
    for name, point in at.items():
        speed = np.linalg.norm(np.diff(point[:, :2], axis=0), axis=1) * rate
        assert speed.max() < 25, name


@BOTH
def test_knees_bend_one_way_and_never_fold_flat(style: Style) -> None:
    thigh, shank, _, _ = motion_of(style).leg(np.linspace(0, 2 * style.step_s, 2000))
    knee = 180 - thigh + shank
    assert knee.min() > 30
    assert knee.max() < 178


@BOTH
def test_arms_swing_against_the_legs(style: Style) -> None:
    at = joints(style, np.linspace(0, 2 * style.step_s, 400))
    arm = at["elbow"][:, 0] - at["shoulder"][:, 0]
    leg = at["near knee"][:, 0] - at["hip"][:, 0]
    assert np.corrcoef(arm, leg)[0, 1] < -0.5


def test_the_good_sprinter_lies_within_what_was_measured_on_sprinters() -> None:
    # Weyand 2010 (trained runners at top speed, 9.20 m/s): contact 108 ms, contact length
    # 0.98 m, step 2.05 m; Haralabidis 2021 and Dorn 2012 (released data): thigh at touchdown
    # 29-34, mid-stance knee 141-145, signed hip at toe-off 200-218.
    motion, times = motion_of(RUNS_WELL), key_times(RUNS_WELL)
    assert motion.stance.speed == pytest.approx(9.20, abs=0.4)
    assert motion.stance.speed * RUNS_WELL.contact_s == pytest.approx(0.98, abs=0.05)
    assert motion.step_length == pytest.approx(2.05, abs=0.05)
    thigh, _, _, _ = motion.leg(np.array([times["touchdown"]]))
    assert 29 <= thigh[0] <= 34


@pytest.mark.long
def test_thigh_and_knee_follow_those_of_a_measured_sprinter(shared: Path) -> None:
    # Dorn 2012, one sprinter at 9.5 m/s, left stride between the force plates; contact and
    # swing are each stretched to ours. Another person: the course must agree, not the degree.
    table = np.genfromtxt(
        shared / "data" / "sprinter_9p5mps_250hz.csv", delimiter=",", names=True, encoding="utf-8"
    )
    on, off, end = 0.4233, 0.5367, 0.8773
    hip, knee, ankle = (
        np.stack([table[f"left_{p}_x_m"], table[f"left_{p}_y_m"]], -1)
        for p in ("hip", "knee", "ankle")
    )
    forward = np.sign(hip[-1, 0] - hip[0, 0])
    thigh, shank = (
        np.degrees(np.arctan2(forward * (b - a)[:, 0], (a - b)[:, 1]))
        for a, b in ((hip, knee), (knee, ankle))
    )
    t = table["time_s"]
    used = (t >= on) & (t <= end) & np.isfinite(thigh)
    style, t = RUNS_WELL, t[used]
    on_ground = (t - on) / (off - on) * style.contact_s
    in_air = style.contact_s + (t - off) / (end - off) * (2 * style.step_s - style.contact_s)
    ours, our_shank, _, _ = motion_of(style).leg(np.where(t < off, on_ground, in_air))
    assert np.corrcoef(ours, thigh[used])[0, 1] > 0.95
    their_knee = (180 - thigh + shank)[used]
    assert np.corrcoef(180 - ours + our_shank, their_knee)[0, 1] > 0.95


def test_angles_a_body_cannot_meet_are_refused() -> None:
    with pytest.raises(ValueError, match="cannot be met"):
        motion_of(replace(RUNS_WELL, drive=75.0))
