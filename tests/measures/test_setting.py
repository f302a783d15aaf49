"""What stands around a run: the upright, and how long the foot was down."""

import pytest

from tapmark.measures.setting import upright_of
from tests.measures.made import run_of, with_set_up


@pytest.mark.parametrize(
    "ends", [((500.0, 1000.0), (500.0, 999.0)), ((500.0, 1000.0), (501.0, 1000.0))]
)
def test_an_upright_of_no_length_is_none_wherever_it_stands(
    ends: tuple[tuple[float, float], tuple[float, float]],
) -> None:
    assert upright_of(with_set_up(run_of(), upright_px=ends)) is None


def test_an_upright_is_given_lower_end_first() -> None:
    low, high = (500.0, 1000.0), (540.0, 200.0)

    for ends in ((low, high), (high, low)):
        assert upright_of(with_set_up(run_of(), upright_px=ends)) == (low, high)
