"""Pages of services are made quickly; how they look and what is measured is tested elsewhere."""

from collections.abc import Iterator

import pytest
from PIL import Image

from tapmark.services import pages
from tests.services.made import quick_pages


@pytest.fixture(scope="module", autouse=True)
def quick() -> Iterator[None]:
    """Make pages quickly in every module of this folder."""
    with quick_pages():
        yield


@pytest.fixture
def blank_pages(monkeypatch: pytest.MonkeyPatch) -> None:
    """Paint no page, for modules that ask whether one is written, or read it as HTML."""
    monkeypatch.setattr(pages, "pages_of", lambda *asked: [Image.new("L", (248, 351), 255)])
