"""Pages whose limbs have few corners, for modules that ask what a page says and where."""

from collections.abc import Iterator

import pytest

from tests.report import made


@pytest.fixture(scope="module")
def plain_limbs() -> Iterator[None]:
    """Draw few corners for a whole module."""
    with made.plain_limbs():
        yield
