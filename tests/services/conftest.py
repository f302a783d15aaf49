"""Pages of services are made quickly; how they look and what is measured is tested elsewhere."""

from collections.abc import Iterator

import pytest

from tests.services.made import quick_pages


@pytest.fixture(scope="module", autouse=True)
def quick() -> Iterator[None]:
    """Make pages quickly in every module of this folder."""
    with quick_pages():
        yield
