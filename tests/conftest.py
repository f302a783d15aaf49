"""The same letters for every test on any machine, data not copied in here, and shares of a run."""

import gc
import os
from collections.abc import Iterator
from itertools import groupby
from pathlib import Path

import pytest

from tapmark.report.drawing import painter

SHARED = Path(__file__).resolve().parents[2] / "shared"


def pytest_addoption(parser: pytest.Parser) -> None:
    """--claims: a folder in which the processes of one run claim modules; see tests/__main__.py."""
    parser.addoption("--claims", default="", help="folder of the modules claimed by a process")


@pytest.hookimpl(tryfirst=True)
def pytest_runtestloop(session: pytest.Session) -> bool | None:
    """Run the modules that no other process has claimed; without --claims pytest runs all."""
    folder = session.config.getoption("claims")
    if not folder or session.testsfailed or session.config.option.collectonly:
        return None
    mine = _claimed(session.items, Path(folder))
    item = next(mine, None)
    while item:
        following = next(mine, None)  # claimed before the last test, or its fixtures would go
        item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
        if session.shouldfail or session.shouldstop:
            raise session.Interrupted(session.shouldstop or session.shouldfail)
        item = following
    return True


def _claimed(items: list[pytest.Item], folder: Path) -> Iterator[pytest.Item]:
    """Yield the tests of modules that nobody has claimed: those of the window, then large ones."""
    modules = {path: [*tests] for path, tests in groupby(items, key=lambda item: item.path)}

    def place(path: Path) -> tuple[bool, int]:
        return path.parent.name != "app", -path.stat().st_size

    for path in sorted(modules, key=place):
        try:
            os.close(os.open(folder / "-".join(path.parts[1:]), os.O_CREAT | os.O_EXCL))
        except FileExistsError:
            continue
        yield from modules[path]


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
