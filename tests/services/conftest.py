"""Pages of services have limbs with few corners; how they look is the subject of tests/report."""

from collections.abc import Iterator

import pytest

from tests.report.made import plain_limbs


@pytest.fixture(scope="module", autouse=True)
def few_corners() -> Iterator[None]:
    """Draw few corners in every module of this folder."""
    with plain_limbs():
        yield
