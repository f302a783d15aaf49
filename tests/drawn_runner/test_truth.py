"""True measures: both athletes where they should be, formulas against hand-made cases."""

from dataclasses import replace

import pytest

from tests.drawn_runner.angles import from_down, from_up, joint
from tests.drawn_runner.athletes import OVERSTRIDES, RUNS_WELL
from tests.drawn_runner.body import Body
from tests.drawn_runner.drawn import key_pictures, side_points
from tests.drawn_runner.truth import measures_of, true_measures

WELL, OVER = true_measures(RUNS_WELL), true_measures(OVERSTRIDES)

# Bands for sprinting, typed from checks.toml (ours): a drawn runner made to lie inside all of them.
FINE = {
    "reach": (-6, 7),
    "ankle ahead of hip": (0, 30),
    "knee at touchdown": (142, 160),
    "knee separation": (-20, 25),
    "swing thigh": (-5, 40),
    "behind hip": (-40, 4),
    "trunk lean at touchdown": (0, 14),
    "leg stack": (92, 100),
    "knee bend": (0, 18),
    "thigh at toe-off": (-35, -20),
    "hip share": (60, 100),
    "drive angle": (25, 36),
    "turn delay ms": (0, 30),
    "fold": (25, 55),
    "front-leg return": (30, 60),
    "contact ms": (85, 115),
}


@pytest.mark.parametrize(("name", "band"), FINE.items())
def test_the_good_sprinter_is_inside_every_fine_band(name: str, band: tuple[float, float]) -> None:
    assert band[0] <= WELL[name] <= band[1]


@pytest.mark.parametrize(
    ("name", "value", "near"),
    [
        ("reach", 3, 1),
        ("knee at touchdown", 152, 1),
        ("swing thigh", 4, 4),
        ("knee separation", 18, 2.5),
        ("leg stack", 94, 0.5),
        ("knee bend", 11, 1.5),
        ("thigh at toe-off", -27, 0.5),
        ("hip share", 70, 2),
        ("drive angle", 30, 1),
        ("fold", 40, 1),
        ("peak thigh", 68, 0.5),
        ("front-leg return", 37, 0.5),
        ("trunk lean", 7, 0.5),
        ("contact ms", 105, 1),
        ("flight ms", 120, 1),
    ],
)
def test_the_good_sprinter_is_the_one_that_was_ordered(
    name: str, value: float, near: float
) -> None:
    assert value == pytest.approx(WELL[name], abs=near)


# Far enough past the limits of checks.toml (ours): plus 1.64 times the error of one marked step.
@pytest.mark.parametrize(
    ("name", "past", "sign"),
    [
        ("reach", 12 + 3.5, 1),
        ("opposite reach", 12 + 3.5, 1),
        ("knee at touchdown", 165 + 6, 1),
        ("knee separation", 36 + 5.5, 1),
        ("swing thigh", -20 - 7, -1),
        ("behind hip", 16 + 6, 1),
        ("leg stack", 90 - 3, -1),
        ("knee bend", 22 + 10, 1),
        ("turn delay ms", 60, 1),
    ],
)
def test_the_overstrider_is_far_past_the_limits(name: str, past: float, sign: int) -> None:
    assert sign * OVER[name] > sign * past


def test_the_overstrider_is_the_one_that_was_ordered() -> None:
    ordered = {"reach": 20, "knee at touchdown": 172, "knee separation": 47, "swing thigh": -32}
    pictures = key_pictures(OVERSTRIDES, 240, 0.2)
    stills = true_measures(OVERSTRIDES, {e: p.time_s for e, p in pictures.items()})
    for name, value in ordered.items():
        assert value == pytest.approx(stills[name], abs=1.0), name
    assert stills["knee at mid-stance"] == pytest.approx(114, abs=0.5)
    assert stills["leg stack"] == pytest.approx(84, abs=0.5)


@pytest.mark.parametrize("measures", [WELL, OVER], ids=["P01", "P02"])
def test_both_feet_land_alike(measures: dict[str, float]) -> None:
    for name in ("reach", "knee at touchdown", "knee separation", "swing thigh", "behind hip"):
        assert measures[name] == pytest.approx(measures[f"opposite {name}"], abs=1e-6)


@pytest.mark.parametrize("measures", [WELL, OVER], ids=["P01", "P02"])
def test_speed_is_step_length_times_step_rate(measures: dict[str, float]) -> None:
    product = measures["step length m"] * measures["step rate"]
    assert measures["speed m/s"] == pytest.approx(product)


@pytest.mark.parametrize("measures", [WELL, OVER], ids=["P01", "P02"])
def test_separation_is_its_two_parts(measures: dict[str, float]) -> None:
    parts = measures["ahead of hip"] + measures["behind hip"]
    assert measures["knee separation"] == pytest.approx(parts)


# Posture cases of our own arithmetic (nothing published) for a height of 1.80 m:
# shoulder, knee and ankle from the hip as origin; lean, thigh, shank, knee, signed hip.
CASES = [
    ((0.0452, 0.5164), (0.2002, -0.3929), (0.2157, -0.8355), 5, 27, 2, 155, 148),
    ((0.0542, 0.5156), (-0.2002, -0.3929), (-0.5241, -0.6949), 6, -27, -47, 160, 201),
    ((0.0362, 0.5171), (0.4194, -0.1363), (0.2680, -0.5524), 4, 72, -20, 88, 104),
    ((0.0452, 0.5164), (0.0766, -0.4343), (-0.2861, -0.1803), 5, 10, -125, 45, 165),
    ((0.0632, 0.5145), (-0.2002, -0.3929), (-0.4965, -0.7220), 7, -27, -42, 165, 200),
]


@pytest.mark.parametrize("case", CASES)
def test_posture_cases_give_their_printed_angles(case: tuple) -> None:  # type: ignore[type-arg]
    neck, knee, ankle, lean, thigh, shank, bend, hip = case
    body = {
        "hip": (0.0, 0.0),
        "neck base": neck,
        "near knee": knee,
        "far knee": knee,
        "near ankle": ankle,
        "far ankle": ankle,
        "near toe": (ankle[0] + 0.2, ankle[1]),
    }
    over_foot = body | {"near knee": (0.08, -0.43), "near ankle": (0.0, -0.86)}
    step = dict.fromkeys(("touchdown", *LATER), body) | {"mid-stance": over_foot}
    found = measures_of(step, 0.954)
    assert lean == pytest.approx(found["trunk lean at touchdown"], abs=0.02)
    assert thigh == pytest.approx(found["thigh at touchdown"], abs=0.02)
    assert shank == pytest.approx(found["reach"], abs=0.02)
    assert bend == pytest.approx(found["knee at touchdown"], abs=0.03)
    assert hip == pytest.approx(found["hip at toe-off"], abs=0.03)


LATER = ("toe-off", "peak knee lift", "opposite touchdown")


def test_measures_agree_with_angles_written_apart() -> None:
    at = side_points(OVERSTRIDES, 0.0)
    assert OVER["reach"] == pytest.approx(float(from_down(at["near knee"], at["near ankle"])))
    knee = joint(at["hip"], at["near knee"], at["near ankle"])
    assert OVER["knee at touchdown"] == pytest.approx(float(knee))
    lean = from_up(at["hip"], at["neck base"])
    assert OVER["trunk lean at touchdown"] == pytest.approx(float(lean))
    ahead = 100 * (at["near knee"][0] - at["far knee"][0]) / Body(1.70).leg
    assert OVER["knee separation"] == pytest.approx(float(ahead))


def test_leg_stack_follows_from_the_knee_angle() -> None:
    # Law of cosines, thigh and shank alike: knee 134 is stack 92, knee 128 is stack 90.
    for knee, stack in ((134.0, 92.0), (128.0, 90.0)):
        measured = true_measures(replace(RUNS_WELL, knee_mid_stance=knee))
        assert stack == pytest.approx(measured["leg stack"], abs=0.2)
