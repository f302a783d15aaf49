"""Angles against a textbook's printed table, posture cases of our own arithmetic, and three other
ways to find an angle.
"""

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray
from scipy.spatial.distance import cosine
from scipy.spatial.transform import Rotation

from tapmark.geometry.planar import (
    hang_deg,
    hip_deg,
    joint_deg,
    lean_deg,
    length,
    turned_deg,
)

Array = NDArray[np.float64]

# D. A. Winter, Biomechanics and Motor Control of Human Movement, 4th ed., Wiley 2009, Appendix A:
# Table A.2 (metres) gives the points; A.3 the segment angles from +x, A.4 the hip. One walker,
# right side, toward +x. Frame: rib cage, hip, knee, ankle; trunk, thigh, leg, hip angle.
WINTER = {
    int(frame): ([tuple(map(float, numbers[i : i + 2])) for i in (0, 2, 4, 6)], *numbers[8:])
    for frame, *numbers in map(
        str.split,
        """
1  0.4695 1.0435  0.4474 0.7870  0.4075 0.4754  0.0939 0.2143  85.1  82.7  39.8  -2.4
10  0.6349 1.0739  0.6278 0.8185  0.7319 0.5200  0.4817 0.2106  88.4  109.2  51.0  20.8
20  0.8158 1.0675  0.8335 0.8189  0.9627 0.5361  1.0173 0.1177  94.1  114.6  97.4  20.5
28  0.9896 1.0367  1.0183 0.7959  1.1223 0.5042  1.2539 0.1081  96.8  109.6  108.4  12.8
30  1.0362 1.0349  1.0664 0.7970  1.1669 0.5046  1.2720 0.0999  97.2  109.0  104.6  11.7
37  1.1915 1.0512  1.2118 0.8205  1.2977 0.5182  1.2999 0.0934  95.0  105.9  90.3  10.8
50  1.4414 1.0769  1.4239 0.8255  1.4018 0.5105  1.3059 0.1009  86.0  86.0  76.8  0.0
64  1.7377 1.0343  1.6937 0.7933  1.6046 0.4933  1.3552 0.1549  79.7  73.4  53.6  -6.2
70  1.8727 1.0409  1.8505 0.7851  1.8097 0.4730  1.4928 0.2175  85.0  82.5  38.9  -2.5
77  1.9951 1.0679  1.9870 0.8096  2.0610 0.5032  1.7729 0.2291  88.2  103.6  43.6  15.3
90  2.2329 1.0552  2.2518 0.8124  2.3800 0.5250  2.4688 0.1079  94.4  114.0  102.0  19.6
97  2.3813 1.0307  2.4163 0.7908  2.5257 0.4999  2.6677 0.1009  98.3  110.6  109.6  12.3
""".strip().splitlines(),
    )
}
WITHIN_ITS_ROUNDING_DEG = 0.08  # 0.05 of the printed angle and 0.013 a point
WITHIN_TWO_ROUNDINGS_DEG = 0.11

# Posture cases: arithmetic of our own from body ratios, nothing published. Only the signs and the
# order of the points can fail here. Body of height 1:
# lean, thigh, shank; shoulder, knee, ankle from the hip in metres at 1.80 m; knee, signed hip.
POSTURES = {
    "sprint touchdown": (
        5,
        27,
        2,
        (0.0452, 0.5164),
        (0.2002, -0.3929),
        (0.2157, -0.8355),
        155,
        148,
    ),
    "sprint toe-off": (
        6,
        -27,
        -47,
        (0.0542, 0.5156),
        (-0.2002, -0.3929),
        (-0.5241, -0.6949),
        160,
        201,
    ),
    "knee lift": (4, 72, -20, (0.0362, 0.5171), (0.4194, -0.1363), (0.268, -0.5524), 88, 104),
    "heel recovery": (
        5,
        10,
        -125,
        (0.0452, 0.5164),
        (0.0766, -0.4343),
        (-0.2861, -0.1803),
        45,
        165,
    ),
    "800 m touchdown": (6, 24, 6, (0.0542, 0.5156), (0.1794, -0.4029), (0.2257, -0.8432), 162, 150),
    "800 m toe-off": (
        7,
        -27,
        -42,
        (0.0632, 0.5145),
        (-0.2002, -0.3929),
        (-0.4965, -0.722),
        165,
        200,
    ),
    "early acceleration": (
        40,
        60,
        -35,
        (0.3332, 0.3971),
        (0.3819, -0.2205),
        (0.1279, -0.5832),
        85,
        80,
    ),
}
HIP = np.array([0.0, 0.0])


def points(*pairs: tuple[float, float]) -> list[Array]:
    return [np.array(pair) for pair in pairs]


@pytest.mark.parametrize("frame", WINTER)
def test_segments_are_those_of_the_textbooks_walking_trial(frame: int) -> None:
    places, *angles = WINTER[frame]
    trunk, thigh, leg, hip = map(float, angles)
    rib, trochanter, knee, ankle = points(*places)

    assert thigh - 90 == pytest.approx(hang_deg(trochanter, knee), abs=WITHIN_ITS_ROUNDING_DEG)
    assert leg - 90 == pytest.approx(hang_deg(knee, ankle), abs=WITHIN_ITS_ROUNDING_DEG)
    assert 90 - trunk == pytest.approx(lean_deg(trochanter, rib), abs=WITHIN_ITS_ROUNDING_DEG)
    flexion = hang_deg(trochanter, knee) + lean_deg(trochanter, rib)
    assert hip == pytest.approx(flexion, abs=WITHIN_TWO_ROUNDINGS_DEG)


@pytest.mark.parametrize("frame", WINTER)
def test_knees_are_those_of_the_textbooks_walking_trial(frame: int) -> None:
    places, *angles = WINTER[frame]
    _, thigh, leg, _ = map(float, angles)
    _, trochanter, knee, ankle = points(*places)

    bend = 180 - joint_deg(hang_deg(trochanter, knee), hang_deg(knee, ankle))

    assert thigh - leg == pytest.approx(bend, abs=WITHIN_TWO_ROUNDINGS_DEG)


def inner_deg(vertex: np.ndarray, first: np.ndarray, second: np.ndarray) -> float:
    """The signed angle of a joint, folded to what a protractor shows: 0 to 180."""
    signed = float(joint_deg(hang_deg(first, vertex), hang_deg(vertex, second)))
    return abs(180.0 - abs(180.0 - signed))


def test_a_textbook_problem_comes_out_to_its_last_digit() -> None:
    # A question on a public physics forum (thread 251371) with the answer 29.42°.
    hip, knee, ankle = points((1.0183, 0.7959), (1.1223, 0.5042), (1.0539, 0.1081))

    assert hang_deg(hip, knee) - hang_deg(knee, ankle) == pytest.approx(29.420133290, abs=1e-9)
    assert inner_deg(knee, hip, ankle) == pytest.approx(150.579866710, abs=1e-9)


@pytest.mark.parametrize("name", POSTURES)
def test_posture_cases_keep_their_sign(name: str) -> None:
    lean, thigh, shank, *places, knee_angle, hip_angle = POSTURES[name]
    shoulder, knee, ankle = points(*places)

    assert lean == pytest.approx(lean_deg(HIP, shoulder), abs=0.02)
    assert thigh == pytest.approx(hang_deg(HIP, knee), abs=0.02)
    assert shank == pytest.approx(hang_deg(knee, ankle), abs=0.02)
    bend = joint_deg(hang_deg(HIP, knee), hang_deg(knee, ankle))
    assert knee_angle == pytest.approx(bend, abs=0.02)
    assert hip_angle == pytest.approx(
        hip_deg(hang_deg(HIP, knee), lean_deg(HIP, shoulder)), abs=0.02
    )


def test_a_hip_stretched_behind_reads_201_and_never_159() -> None:
    assert hip_deg(np.array(-27.0), np.array(6.0)) == 201.0


def test_a_knee_bent_backwards_reads_more_than_180() -> None:
    assert joint_deg(np.array(-10.0), np.array(10.0)) == 200.0


def test_a_shank_folded_past_straight_up_stays_a_small_angle() -> None:
    assert joint_deg(np.array(5.0), np.array(-155.0)) == pytest.approx(20.0)
    assert joint_deg(np.array(-20.0), np.array(180.0)) == pytest.approx(20.0)
    assert joint_deg(np.array(-20.0), np.array(170.0)) == pytest.approx(10.0)


def test_angles_agree_with_complex_numbers_scipy_and_shapely() -> None:
    random = np.random.default_rng(7)
    for hip, knee, ankle in random.uniform(-2, 2, (200, 3, 2)):
        expected = np.angle(complex(*(hip - knee)) / complex(*(ankle - knee)), deg=True)
        assert abs(expected) == pytest.approx(inner_deg(knee, hip, ankle), abs=1e-9)
        by_scipy = np.degrees(np.arccos(1 - cosine(hip - knee, ankle - knee)))
        assert by_scipy == pytest.approx(inner_deg(knee, hip, ankle), abs=1e-5)
        area = shapely.Polygon([hip, knee, ankle]).area
        sides = np.linalg.norm(hip - knee) * np.linalg.norm(ankle - knee)
        sine = np.sin(np.radians(inner_deg(knee, hip, ankle)))
        assert 2 * area / sides == pytest.approx(sine, abs=1e-9)


def test_signed_knees_agree_with_complex_numbers() -> None:
    random = np.random.default_rng(8)
    for _ in range(200):
        hip, knee, ankle = random.uniform(-2, 2, (3, 2))
        flexion = np.angle(complex(*(knee - hip)) / complex(*(ankle - knee)), deg=True)
        expected = 180 - ((flexion + 90) % 360 - 90)
        measured = joint_deg(hang_deg(hip, knee), hang_deg(knee, ankle))
        assert expected == pytest.approx(measured, abs=1e-9)


def test_directions_agree_with_scipys_rotation() -> None:
    random = np.random.default_rng(9)
    for forward, up in random.uniform(-1, 1, (100, 2)):
        end = np.array([forward, up])
        turn, _ = Rotation.align_vectors([[forward, up, 0.0]], [[0.0, 1.0, 0.0]])
        assert turn.magnitude() == pytest.approx(np.radians(abs(lean_deg(HIP, end))), abs=1e-9)
        assert lean_deg(HIP, end) == pytest.approx(-hang_deg(HIP, -end), abs=1e-9)


def test_a_triangle_of_3_4_5_has_its_exact_angles() -> None:
    a, b, c = points((0, 0), (4, 0), (4, 3))

    assert inner_deg(a, b, c) == pytest.approx(36.8698976458, abs=1e-9)
    assert inner_deg(b, a, c) == pytest.approx(90.0, abs=1e-12)
    assert length(a, c) == 5.0


def test_rows_of_an_array_are_measured_one_by_one() -> None:
    random = np.random.default_rng(10)
    hips, knees, ankles = random.uniform(-1, 1, (3, 6, 2))
    together = joint_deg(hang_deg(hips, knees), hang_deg(knees, ankles))

    assert together.shape == (6,)
    for i in range(6):
        alone = joint_deg(hang_deg(hips[i], knees[i]), hang_deg(knees[i], ankles[i]))
        assert alone == together[i]


def test_a_direction_without_length_is_no_number() -> None:
    spot = np.array([3.0, 4.0])

    assert np.isnan(hang_deg(spot, spot))
    assert np.isnan(lean_deg(spot, spot))
    assert length(spot, spot) == 0.0


def test_turning_goes_the_shorter_way_round() -> None:
    # 370° and −190° by astropy's Angle.wrap_at(180°): 10° and 170°.
    assert turned_deg(np.array(0.0), np.array(370.0)) == pytest.approx(10.0)
    assert turned_deg(np.array(0.0), np.array(-190.0)) == pytest.approx(170.0)
    assert turned_deg(np.array(170.0), np.array(-170.0)) == pytest.approx(20.0)
