"""A bar with Stop for whatever takes longer than 0.3 s, and none for what is over by then."""

import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tapmark.app.jobs import Jobs
from tests.app.clipping import clipped
from tests.app.driving import Driver, OpenWindow
from tests.app.test_jobs import Loop


class Clock:
    """Seconds that go on only when a test says so."""

    def __init__(self) -> None:
        self.s = 100.0

    def __call__(self) -> float:
        return self.s


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def jobs(clock: Clock) -> Iterator[Jobs]:
    loop = Loop()
    made = Jobs(loop.after, loop.cancel, lambda mistake: None, clock)
    yield made
    made.close()


@pytest.mark.parametrize(("after_s", "is_told"), [(0.0, False), (0.3, False), (0.301, True)])
def test_work_is_waited_for_only_once_more_than_three_tenths_have_passed(
    after_s: float, is_told: bool, jobs: Jobs, clock: Clock
) -> None:
    gate = threading.Event()
    task = jobs.run(
        "copy", lambda task: gate.wait(5), lambda value: None, stopped="Stopped.", by="window"
    )
    clock.s += after_s

    assert jobs.waited_for() is (task if is_told else None)
    gate.set()


def test_work_that_only_fills_in_the_screen_is_not_waited_for(jobs: Jobs, clock: Clock) -> None:
    jobs.run("comparison", lambda task: 1, lambda value: None, by="window")
    clock.s += 60

    assert jobs.waited_for() is None


@pytest.fixture
def app(open_app: OpenWindow, squad_folder: Path, clock: Clock) -> Driver:
    driver = open_app(squad_folder)
    driver.context.jobs.clock = clock
    return driver


def start(app: Driver, stopped: str) -> tuple[threading.Event, Callable[[int, int], None], Any]:
    """Start work that goes on until it is let go; return its gate, a way to report, the task."""
    gate = threading.Event()

    def work(task: Any) -> str:
        while not gate.wait(0.005):
            if task.is_cancelled():
                return "stopped"
        return "done"

    came: list[str] = []
    task = app.context.jobs.run("copy", work, came.append, stopped=stopped, by="window")
    return gate, lambda so_far, of: task.report(so_far, of), came


def bar_of(app: Driver) -> Any:
    return app.window.status.work


def test_no_bar_stands_for_work_that_is_over_within_three_tenths(app: Driver, clock: Clock) -> None:
    gate, _, came = start(app, "Stopped.")
    clock.s += 0.3
    app.pump()
    seen_before = bar_of(app).frame.winfo_ismapped()
    gate.set()
    app.pump(lambda: came, "the end")

    assert (seen_before, bar_of(app).frame.winfo_ismapped()) == (0, 0)


def test_beyond_it_a_bar_with_stop_stands_until_the_work_is_done(app: Driver, clock: Clock) -> None:
    gate, report, came = start(app, "Stopped.")
    clock.s += 0.31
    app.pump(lambda: bar_of(app).frame.winfo_ismapped(), "the bar")
    assert bar_of(app).stop.winfo_ismapped()
    assert str(bar_of(app).bar.cget("mode")) == "indeterminate"
    assert clipped(app.root) == []

    report(30, 120)
    app.pump(lambda: float(bar_of(app).bar.cget("value")) == 25, "a quarter")
    assert str(bar_of(app).bar.cget("mode")) == "determinate"
    gate.set()
    app.pump(lambda: came and not bar_of(app).frame.winfo_ismapped(), "the bar gone")
    assert came == ["done"]


def test_stop_ends_the_work_and_says_what_that_means(app: Driver, clock: Clock) -> None:
    _, _, came = start(app, "Stopped. Nothing was changed.")
    clock.s += 1
    app.pump(lambda: bar_of(app).frame.winfo_ismapped(), "the bar")

    app.click(bar_of(app).stop)

    app.pump(lambda: app.context.jobs.is_idle, "the worker")
    assert (came, app.state.status) == ([], "Stopped. Nothing was changed.")
    assert not bar_of(app).frame.winfo_ismapped()


def test_work_that_must_not_stop_half_way_has_a_bar_without_stop(app: Driver, clock: Clock) -> None:
    gate, _, came = start(app, "")
    clock.s += 1
    app.pump(lambda: bar_of(app).frame.winfo_ismapped(), "the bar")

    assert not bar_of(app).stop.winfo_ismapped()
    gate.set()
    app.pump(lambda: came, "the end")
