"""Proportions against the published fractions of standing height."""

import pytest

from tests.drawn_runner.body import Body

# Drillis & Contini 1964/66 as drawn by Winter, Biomechanics and Motor Control of Human
# Movement (from memory).
PUBLISHED = {
    "foot height": 0.039,
    "foot length": 0.152,
    "shank": 0.246,
    "thigh": 0.245,
    "upper arm": 0.186,
    "forearm": 0.146,
    "hand": 0.108,
    "hip to shoulder": 0.288,
}


@pytest.mark.parametrize(("part", "fraction"), PUBLISHED.items())
def test_each_part_is_its_published_fraction_of_height(part: str, fraction: float) -> None:
    assert 1.80 * fraction == pytest.approx(Body(1.80).part(part))


def test_leg_parts_add_up_to_hip_height() -> None:
    body = Body(1.80)
    assert body.thigh + body.shank + body.sole == pytest.approx(0.530 * 1.80)
    assert body.leg == pytest.approx(0.530 * 1.80)


def test_shoulder_stands_where_the_published_figure_has_it() -> None:
    body = Body(1.80)
    assert body.leg + body.part("hip to shoulder") == pytest.approx(0.818 * 1.80)


def test_neck_base_is_the_length_of_a_measured_trunk() -> None:
    # de Leva 1996, men: mid-hip to breastbone notch 0.3055 of height.
    assert Body(1.80).neck == pytest.approx(0.3055 * 1.80)


def test_heel_and_toe_make_the_whole_foot() -> None:
    body = Body(1.74)
    assert body.heel + body.toe == pytest.approx(0.152 * 1.74)
    assert -body.heel < 0 < body.ball < body.toe
