"""Repeats against printed tables: Bland & Altman, Shrout & Fleiss, NIST, JCGM 100 H.5."""

import numpy as np
import pytest

from tapmark.measures.agreement import (
    agreement,
    intraclass,
    smallest_change,
    spread,
    typical_error,
)

# J. M. Bland & D. G. Altman, Lancet 1986; i: 307–310: peak flow of 17 people, two meters, twice.
WRIGHT = (
    [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427],
    [490, 397, 512, 401, 470, 611, 415, 431, 638, 429, 420, 633, 275, 492, 165, 372, 421],
)
MINI = (
    [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451],
    [525, 415, 508, 444, 500, 625, 460, 390, 642, 432, 420, 605, 227, 467, 268, 370, 443],
)


def test_limits_of_agreement_are_those_of_the_paper() -> None:
    both = agreement(WRIGHT[0], MINI[0])

    assert both.bias == pytest.approx(-2.1, abs=0.05)
    assert both.sd == pytest.approx(38.8, abs=0.05)
    assert (both.bias - 2 * both.sd, both.bias + 2 * both.sd) == pytest.approx(
        (-79.7, 75.5), abs=0.1
    )
    assert (both.low, both.high) == pytest.approx((-78.0973, 73.8620), abs=1e-3)
    assert both.u_bias == pytest.approx(9.4, abs=0.05)
    assert both.bias_interval == pytest.approx((-22.0, 17.8), abs=0.1)


@pytest.mark.parametrize(
    ("meter", "repeatability", "one_reading"),
    [(WRIGHT, 43.2938, 15.306669), (MINI, 56.3163, 19.910831)],
    ids=["large meter", "small meter"],
)
def test_typical_error_is_dahlbergs(
    meter: tuple[list[int], list[int]], repeatability: float, one_reading: float
) -> None:
    # Printed 43.2 and 56.4 (2 √mean d²); 15.3 and 19.9 from memory of the paper.
    error = typical_error(*meter)

    assert error == pytest.approx(one_reading, abs=1e-6)
    assert 2 * 2**0.5 * error == pytest.approx(repeatability, abs=1e-4)
    assert smallest_change(error) == pytest.approx(1.96 * 2**0.5 * one_reading)


# Bland & Altman, BMJ 313 (1996) 744, "Measurement error": 16 of its 20 rows of four readings.
BMJ = """
190 220 200 200 202.50 12.58/220 200 240 230 222.50 17.08/260 260 240 280 260.00 16.33
210 300 280 265 263.75 38.60/270 265 280 270 271.25 6.29/280 280 270 275 276.25 4.79
260 280 280 300 280.00 16.33/275 275 275 305 282.50 15.00/280 290 300 290 290.00 8.16
320 290 300 290 300.00 14.14/300 300 310 300 302.50 5.00/270 250 330 370 305.00 55.08
320 330 330 330 327.50 5.00/335 320 335 375 341.25 23.58/350 320 340 365 343.75 18.87
360 320 350 345 343.75 17.02
"""
FOUR_READINGS = [list(map(float, row.split())) for row in BMJ.replace("\n", "/").split("/") if row]


def test_repeat_sd_of_four_readings_pools_the_printed_ones() -> None:
    groups = [row[:4] for row in FOUR_READINGS]
    for group, (mean, sd) in zip(groups, (row[4:] for row in FOUR_READINGS), strict=True):
        alone = spread([group, [0.0, 0.0]])
        assert np.mean(group) == pytest.approx(mean, abs=0.005)
        assert alone.within_sd * (4 / 3) ** 0.5 == pytest.approx(sd, abs=0.006)

    pooled = spread(groups)

    assert pooled.within_sd**2 == pytest.approx(457.03125, abs=1e-6)
    assert pooled.within_freedom == 48
    assert 2.77 * pooled.within_sd == pytest.approx(59.218, abs=1e-3)


def test_repeat_sd_is_that_of_the_certified_nist_set() -> None:
    """NIST Statistical Reference Datasets, SiRstv: five instruments, five readings (ohm cm)."""
    found = spread(
        [
            [196.3052, 196.1240, 196.1890, 196.2569, 196.3403],
            [196.3042, 196.3825, 196.1669, 196.3257, 196.0422],
            [196.1303, 196.2005, 196.2889, 196.0343, 196.1811],
            [196.2795, 196.1748, 196.1494, 196.1485, 195.9885],
            [196.2119, 196.1051, 196.1850, 196.0052, 196.2090],
        ]
    )

    assert found.within_sd == pytest.approx(0.104076068334656, rel=1e-9)
    assert found.f == pytest.approx(1.18046237440255, rel=1e-8)
    assert (found.between_freedom, found.within_freedom) == (4, 20)


# JCGM 100:2008, H.5: ten days of five readings; means and SDs of the days in microvolts off 10 V.
DAY_MEANS = [172, 116, 13, 144, 106, 31, 60, 125, 163, 41]
DAY_SDS = [60, 77, 111, 101, 67, 93, 80, 73, 88, 86]


def test_day_to_day_and_within_day_spread_are_those_of_jcgm_100_h5() -> None:
    shape = np.array([-2.0, -1.0, 0.0, 1.0, 2.0]) / 2.5**0.5  # five readings of mean 0 and SD 1
    days = [mean + sd * shape for mean, sd in zip(DAY_MEANS, DAY_SDS, strict=True)]

    found = spread([list(day) for day in days])

    assert found.within_sd == pytest.approx(85, abs=0.5)
    assert found.f == pytest.approx(2.25, abs=0.02)
    assert found.between_sd == pytest.approx(42.6, abs=0.1)
    assert np.std(DAY_MEANS, ddof=1) == pytest.approx(57, abs=0.5)


def test_days_that_differ_less_than_their_readings_show_no_spread_between() -> None:
    assert spread([[0.0, 10.0], [1.0, 9.0], [2.0, 8.0]]).between_sd == 0.0
    assert spread([[1.0, 1.0], [2.0, 2.0]]).f == float("inf")


# P. E. Shrout & J. L. Fleiss, Psychol. Bull. 86 (1979) 420–428: six targets, four judges.
TARGETS = [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]]


def test_intraclass_correlations_are_those_of_the_paper() -> None:
    found = intraclass(TARGETS)

    assert (found.one_way, found.absolute, found.consistent) == pytest.approx(
        (0.17, 0.29, 0.71), abs=0.005
    )
    assert (found.one_way, found.absolute, found.consistent) == pytest.approx(
        (0.165742, 0.289764, 0.714841), abs=1e-6
    )
    assert found.sem_consistent == pytest.approx(1.009675, abs=1e-6)
    assert found.sem_absolute == pytest.approx(2.502776, abs=1e-6)
    assert smallest_change(found.sem_consistent) == pytest.approx(2.798677, abs=1e-5)
