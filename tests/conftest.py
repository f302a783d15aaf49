"""The same letters for every test on any machine, and data that may not be copied in here."""

import gc
from pathlib import Path

import pytest

from tapmark.report.drawing import painter

SHARED = Path(__file__).resolve().parents[2] / "shared"


def pytest_configure() -> None:
    """Hide the fonts of this machine from pages: they are set in Pillow's own letters here."""
    find = painter.installed
    painter.installed = lambda families=painter.FAMILIES, folders=(): find(families, folders)


def pytest_collection_finish() -> None:
    """Keep the collector from looking through thousands of collected tests again and again."""
    gc.collect()
    gc.freeze()


@pytest.fixture(scope="session")
def shared() -> Path:
    """The folder of reference data beside the checkout; only long tests ask for it."""
    if not SHARED.is_dir():
        pytest.skip(f"reference data folder {SHARED.name}/ is not beside this checkout")
    return SHARED
