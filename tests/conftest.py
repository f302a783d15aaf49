"""Shared fixtures: where the papers beside the checkout are, and the reason when they are not."""

import gc
from pathlib import Path

import pytest

SHARED = Path(__file__).resolve().parents[2] / "shared"


def pytest_collection_finish() -> None:
    """Keep the collector from looking through thousands of collected tests again and again."""
    gc.collect()
    gc.freeze()


@pytest.fixture(scope="session")
def shared() -> Path:
    """The folder of reference data beside the checkout; a test that needs it skips without it."""
    if not SHARED.is_dir():
        pytest.skip(f"reference data folder {SHARED.name}/ is not beside this checkout")
    return SHARED
