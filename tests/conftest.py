"""The same letters for every test on any machine, data not copied in here, and shares of a run."""

import gc
import json
import os
import sys
from collections import defaultdict
from collections.abc import Iterator
from itertools import groupby
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from tapmark.cli import main
from tapmark.report.drawing import painter
from tests.cores import stay_on_a_core
from tests.examples import examples
from tests.sockets import refuse_sockets

SHARED = Path(__file__).resolve().parents[2] / "shared"

# every machine draws the same examples, and a busy one is no fault of the code
settings.register_profile(
    "steady",
    deadline=None,
    derandomize=True,
    max_examples=examples(50),
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("steady")


def pytest_addoption(parser: pytest.Parser) -> None:
    """The options of tests/__main__.py, for the processes of one run."""
    parser.addoption("--claims", default="", help="folder of the modules claimed by a process")
    parser.addoption("--fork", default="", help="go on as one process for each display, as JSON")


@pytest.hookimpl(tryfirst=True)
def pytest_runtestloop(session: pytest.Session) -> bool | None:
    """Run the modules that no other process has claimed; without --claims pytest runs all."""
    option = session.config.option
    if not option.claims or session.testsfailed or option.collectonly:
        return None
    folder = Path(option.claims)
    if option.fork:
        _fork(session, folder, json.loads(option.fork))
    mine = _claimed(session.items, folder)
    item = next(mine, None)
    while item:
        following = next(mine, None)  # claimed before the last test, or its fixtures would go
        item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
        if session.shouldfail or session.shouldstop:
            raise session.Interrupted(session.shouldstop or session.shouldfail)
        item = following
    return True


def _fork(session: pytest.Session, folder: Path, displays: list[str]) -> None:
    """Go on as several processes that all have the tests collected, one for each display.

    folder: there each says what it has to say. The first process waits for the others and ends.
    """
    capture = session.config.pluginmanager.getplugin("capturemanager")
    sys.stdout.flush()
    children = []
    for i, display in enumerate(displays):
        child = os.fork()
        if not child:
            capture.stop_global_capturing()
            paper = os.open(folder / f"said {os.getpid()}", os.O_CREAT | os.O_WRONLY)
            os.dup2(paper, 1)
            os.dup2(paper, 2)
            capture.start_global_capturing()
            capture.suspend_global_capture()
            if display:
                os.environ["DISPLAY"] = display
                stay_on_a_core(i)
            else:
                os.environ.pop("DISPLAY", None)
            return
        children.append(child)
    codes = [os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) for child in children]
    nothing_wrong = (pytest.ExitCode.OK, pytest.ExitCode.NO_TESTS_COLLECTED)
    os._exit(next((abs(code) for code in codes if code not in nothing_wrong), min(codes)))


def _claimed(items: list[pytest.Item], folder: Path) -> Iterator[pytest.Item]:
    """Yield the tests of modules that no other process has claimed, large modules first.

    Modules that read the demo are claimed as one, so that one process alone makes it.
    """
    units = defaultdict[str, list[pytest.Item]](list)
    for path, tests in groupby(items, key=lambda item: item.path):
        module = [*tests]
        reads_demo = any("demo" in getattr(test, "fixturenames", ()) for test in module)
        units["demo" if reads_demo else "-".join(path.parts[1:])] += module

    def size(unit: str) -> int:
        return sum(path.stat().st_size for path in {test.path for test in units[unit]})

    for unit in sorted(units, key=size, reverse=True):
        try:
            os.close(os.open(folder / unit, os.O_CREAT | os.O_EXCL))
        except FileExistsError:
            continue
        yield from units[unit]


def pytest_configure() -> None:
    """Hide the fonts of this machine from pages: they are set in Pillow's own letters here."""
    find = painter.installed
    painter.installed = lambda families=painter.FAMILIES, folders=(): find(families, folders)


def pytest_collection_finish() -> None:
    """Keep the collector from looking through thousands of collected tests again and again."""
    gc.collect()
    gc.freeze()


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What `tapmark demo` writes, once for all tests that only read; the others copy it."""
    from tests.report.made import plain_limbs  # reads the pages, which must not know of fonts

    folder = tmp_path_factory.mktemp("demo") / "tapmark-demo"
    with plain_limbs(), pytest.MonkeyPatch.context() as patch:
        refuse_sockets(patch)
        assert main(["demo", str(folder), "--no-window"]) == 0
    return folder


@pytest.fixture(scope="session")
def shared() -> Path:
    """The folder of reference data beside the checkout; only long tests ask for it."""
    if not SHARED.is_dir():
        pytest.skip(f"reference data folder {SHARED.name}/ is not beside this checkout")
    return SHARED
