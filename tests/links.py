"""Making a link in a test, on systems that may not have any."""

import sys
from pathlib import Path

import pytest


def link(path: Path, to: Path | str) -> Path:
    """Make a link and return it; skip where Windows refuses (it asks for a right of its own)."""
    try:
        path.symlink_to(to)
    except OSError:
        if sys.platform != "win32":
            raise
    if not path.is_symlink():
        pytest.skip("this Windows makes no links")
    return path
