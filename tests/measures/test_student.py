"""Student's t against scipy and printed tables."""

import pytest
from scipy.stats import t

from tapmark.measures.student import t_factor


@pytest.mark.parametrize(("freedom", "printed"), [(1, 12.7062), (4, 2.7764), (9, 2.2622)])
def test_factors_are_those_of_printed_tables(freedom: int, printed: float) -> None:
    assert t_factor(freedom) == pytest.approx(printed, abs=5e-5)


@pytest.mark.parametrize("freedom", [1, 2, 3, 7.77976, 12, 30, 100, 1000])
@pytest.mark.parametrize("coverage", [0.5, 0.9, 0.95, 0.99])
def test_factors_are_those_of_scipy(freedom: float, coverage: float) -> None:
    assert t_factor(freedom, coverage) == pytest.approx(
        t.ppf((1 + coverage) / 2, freedom), rel=1e-8
    )
