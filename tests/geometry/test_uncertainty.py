"""Propagation against the worked examples of JCGM 100 and 101, another package and closed forms."""

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.special import stdtrit  # reads in a tenth of the time of scipy.stats
from uncertainties import correlated_values, correlation_matrix, ufloat, umath

from tapmark.geometry.planar import hang_deg, joint_deg
from tapmark.geometry.uncertainty import Z95, combined, shares, stacked, t_factor

Array = NDArray[np.float64]


def propagated(
    function: Callable[[Array], Array], values: list[float], sds: list[float]
) -> tuple[float, Array]:
    """Run what the measures run: stack, evaluate, take shares."""
    results = function(stacked(np.array(values), np.array(sds)))
    return float(results[0]), shares(results)


def test_stack_moves_one_value_at_a_time_up_and_down() -> None:
    assert stacked(np.array([1.0, 2.0]), np.array([0.5, 0.25])).tolist() == [
        [1.0, 2.0],
        [1.5, 2.0],
        [0.5, 2.0],
        [1.0, 2.25],
        [1.0, 1.75],
    ]


def gauge_block(rows: Array) -> Array:
    standard, difference, expansion, deviation, d_expansion, d_temperature = rows.T
    return standard + difference - standard * (d_expansion * deviation + expansion * d_temperature)


# JCGM 100:2008, H.1, the calibration of an end gauge
GAUGE_VALUES = [50.000623e6, 215.0, 11.5e-6, -0.1, 0.0, 0.0]  # nm, 1/K, K
GAUGE_SDS = [25.0, 9.7, 1.2e-6, 0.41, 0.58e-6, 0.029]


def test_end_gauge_of_jcgm_100_h1() -> None:
    value, parts = propagated(gauge_block, GAUGE_VALUES, GAUGE_SDS)

    assert value / 1e6 == pytest.approx(50.000838, abs=5e-7)
    assert round(combined(parts)) == 32

    freedoms = np.array([18, 25.6, np.inf, np.inf, 50, 2])  # its table H.1
    effective = combined(parts) ** 4 / np.sum(parts**4 / freedoms)
    assert int(effective) == 16
    assert stdtrit(int(effective), 0.995) * combined(parts) == pytest.approx(93, abs=1)


def test_end_gauge_agrees_with_the_uncertainties_package() -> None:
    inputs = [ufloat(v, s) for v, s in zip(GAUGE_VALUES, GAUGE_SDS, strict=True)]
    standard, difference, expansion, deviation, d_expansion, d_temperature = inputs
    expected = (
        standard + difference - standard * (d_expansion * deviation + expansion * d_temperature)
    )

    _, parts = propagated(gauge_block, GAUGE_VALUES, GAUGE_SDS)

    assert expected.std_dev == pytest.approx(combined(parts), rel=1e-6)


# JCGM 100:2008, H.2, table H.2: five simultaneous observations
VOLTS = [5.007, 4.994, 5.005, 4.990, 4.999]
MILLIAMPS = [19.663, 19.639, 19.640, 19.685, 19.678]
PHASES = [1.0456, 1.0438, 1.0468, 1.0428, 1.0433]


def test_resistance_and_reactance_of_jcgm_100_h2_with_correlated_inputs() -> None:
    # Inputs that go together are one column each after turning them into independent ones.
    observed = np.array([VOLTS, MILLIAMPS, PHASES])
    means, covariance = observed.mean(axis=1), np.cov(observed) / 5
    root = np.linalg.cholesky(covariance)

    def inputs(rows: Array) -> Array:
        return np.asarray((means + rows @ root.T).T)

    def resistance(rows: Array) -> Array:
        v, i, phi = inputs(rows)
        return np.asarray(v / (i / 1000) * np.cos(phi))

    def reactance(rows: Array) -> Array:
        v, i, phi = inputs(rows)
        return np.asarray(v / (i / 1000) * np.sin(phi))

    def impedance(rows: Array) -> Array:
        v, i, _ = inputs(rows)
        return np.asarray(v / (i / 1000))

    found = [propagated(f, [0.0] * 3, [1.0] * 3) for f in (resistance, reactance, impedance)]

    printed = [(127.732, 0.071), (219.847, 0.295), (254.260, 0.236)]
    for (value, parts), (expected, u) in zip(found, printed, strict=True):
        assert expected == pytest.approx(value, abs=6e-4)
        assert u == pytest.approx(combined(parts), abs=6e-4)
    (_, r), (_, x), (_, z) = found
    together = [a @ b / combined(a) / combined(b) for a, b in ((r, x), (r, z), (x, z))]
    assert together == pytest.approx([-0.588, -0.485, 0.993], abs=6e-4)

    v, i, phi = correlated_values(means, covariance)
    by_package = [v / (i / 1000) * umath.cos(phi), v / (i / 1000) * umath.sin(phi)]
    assert by_package[0].std_dev == pytest.approx(combined(r), rel=1e-4)
    assert correlation_matrix(by_package)[0][1] == pytest.approx(together[0], abs=1e-4)


@pytest.mark.parametrize(
    ("sds", "u"), [([1, 1, 1, 1], 2.0), ([1, 1, 1, 10], 10.1)], ids=["alike", "one wide"]
)
def test_sum_of_four_inputs_of_jcgm_101_9_2(sds: list[float], u: float) -> None:
    # Published values from memory; the propagation (not its normal interval) must agree.
    value, parts = propagated(lambda rows: rows.sum(axis=1), [0.0] * 4, sds)

    assert value == 0.0
    assert u == pytest.approx(combined(parts), abs=0.05)


@pytest.mark.parametrize(
    ("kind", "half_width", "tolerance"),
    [("normal", 3.92, 0.02), ("rectangular", 3.88, 0.02), ("one wide", 17.0, 0.05)],
)
def test_the_linear_interval_against_monte_carlo_of_jcgm_101_9_2(
    kind: str, half_width: float, tolerance: float
) -> None:
    random = np.random.default_rng(20080901)
    sds = np.array([1, 1, 1, 10.0 if kind == "one wide" else 1.0])
    if kind == "normal":
        draws = random.normal(0, sds, (400_000, 4))
    else:
        draws = random.uniform(-1, 1, (400_000, 4)) * 3**0.5 * sds
    _, parts = propagated(lambda rows: rows.sum(axis=1), [0.0] * 4, list(sds))

    found = float(np.quantile(np.abs(draws.sum(axis=1)), 0.95))

    assert half_width == pytest.approx(found, abs=tolerance)
    assert Z95 * combined(parts) >= found - tolerance  # the linear rule is never too narrow here


def joint_of(first_px: float, second_px: float, flexion_deg: float) -> list[float]:
    bend = np.radians(flexion_deg)
    hip = [0.0, first_px]
    ankle = [-second_px * np.sin(bend), -second_px * np.cos(bend)]
    return [*hip, 0.0, 0.0, *ankle]


def joint_angle(rows: Array) -> Array:
    hip, knee, ankle = rows[:, :2], rows[:, 2:4], rows[:, 4:]
    return joint_deg(hang_deg(hip, knee), hang_deg(knee, ankle))


@pytest.mark.parametrize(
    ("first_px", "second_px", "flexion_deg", "printed"),
    [(200, 200, 20, 1.389276), (200, 200, 90, 1.145916), (100, 120, 40, 2.475186)],
)
def test_a_joint_from_clicks_has_the_closed_form_doubt(
    first_px: float, second_px: float, flexion_deg: float, printed: float
) -> None:
    # s √(2/L1² + 2/L2² − 2 cos φ / (L1 L2)): the knee is shared by both arms.
    inner = np.radians(180 - flexion_deg)
    closed = 2.0 * np.sqrt(
        2 / first_px**2 + 2 / second_px**2 - 2 * np.cos(inner) / (first_px * second_px)
    )
    places = joint_of(first_px, second_px, flexion_deg)

    _, parts = propagated(joint_angle, places, [2.0] * 6)

    assert printed == pytest.approx(np.degrees(closed), abs=1e-6)
    assert printed == pytest.approx(combined(parts), rel=2e-3)
    clicks = np.random.default_rng(1).normal(places, 2.0, (200_000, 6))
    assert combined(parts) == pytest.approx(joint_angle(clicks).std(), rel=0.01)


def test_small_clicks_reach_the_closed_form_to_nine_digits() -> None:
    hx, hy, kx, ky, ax, ay = (ufloat(v, 1e-4) for v in joint_of(100, 120, 40))
    expected = umath.degrees(umath.atan2(kx - hx, hy - ky) - umath.atan2(ax - kx, ky - ay))

    _, parts = propagated(joint_angle, joint_of(100, 120, 40), [1e-4] * 6)

    assert expected.std_dev == pytest.approx(combined(parts), rel=1e-9)


def test_a_segment_from_clicks_has_the_closed_form_doubt() -> None:
    _, parts = propagated(
        lambda rows: hang_deg(rows[:, :2], rows[:, 2:]), [0.0, 200.0, 0.0, 0.0], [2.0] * 4
    )

    assert combined(parts) == pytest.approx(0.810285, rel=1e-3)


@pytest.mark.parametrize(
    ("fps", "event_ms", "interval_ms"),
    [(240, 1.2028, 1.7010), (120, 2.4056, 3.4021), (60, 4.8113, 6.8041), (30, 9.6225, 13.6083)],
)
def test_reading_times_from_pictures_has_the_rectangular_and_triangular_sd(
    fps: float, event_ms: float, interval_ms: float
) -> None:
    # JCGM 100, 4.3.7 and 4.3.9.
    sd = 1000 / fps / 12**0.5

    _, parts = propagated(lambda rows: rows[:, 1] - rows[:, 0], [0.0, 100.0], [sd, sd])

    assert event_ms == pytest.approx(sd, abs=1e-4)
    assert interval_ms == pytest.approx(combined(parts), abs=1e-4)


@pytest.mark.parametrize(("freedom", "printed"), [(1, 12.7062), (4, 2.7764), (9, 2.2622)])
def test_factors_of_student_are_those_of_printed_tables(freedom: int, printed: float) -> None:
    assert t_factor(freedom) == pytest.approx(printed, abs=5e-5)


@pytest.mark.parametrize("freedom", [1, 2, 3, 7.77976, 12, 30, 100, 1000])
@pytest.mark.parametrize("coverage", [0.5, 0.9, 0.95, 0.99])
def test_factors_of_student_are_those_of_scipy(freedom: float, coverage: float) -> None:
    assert t_factor(freedom, coverage) == pytest.approx(
        stdtrit(freedom, (1 + coverage) / 2), rel=1e-8
    )
