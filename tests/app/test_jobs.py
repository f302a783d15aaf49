"""Work beside the window: only the newest counts, late results are dropped, nothing is left."""

import threading
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from tapmark.app.jobs import AT_ONCE, Jobs
from tapmark.errors import ClipUnreadable, TapmarkError


class Loop:
    """An event loop by hand: what was asked for later is run when told to."""

    def __init__(self) -> None:
        self.due: dict[int, Callable[[], None]] = {}
        self._n = 0

    def after(self, ms: int, deed: Callable[[], None]) -> int:
        self._n += 1
        self.due[self._n] = deed
        return self._n

    def cancel(self, key: int) -> None:
        self.due.pop(key, None)

    def turn(self) -> None:
        due, self.due = self.due, {}
        for deed in due.values():
            deed()

    def turn_until(self, held: Callable[[], object]) -> None:
        for _ in range(200_000):
            if held():
                return
            self.turn()
        raise AssertionError("never came")


@pytest.fixture
def loop() -> Loop:
    return Loop()


@pytest.fixture
def crashes() -> list[BaseException]:
    return []


@pytest.fixture
def jobs(loop: Loop, crashes: list[BaseException]) -> Iterator[Jobs]:
    made = Jobs(loop.after, loop.cancel, crashes.append)
    yield made
    made.close()
    assert not [t for t in threading.enumerate() if t.name == "tapmark job"]


def test_a_result_comes_back_on_the_thread_that_turns_the_loop(jobs: Jobs, loop: Loop) -> None:
    came: list[tuple[int, threading.Thread]] = []
    jobs.run("page", lambda task: 6 * 7, lambda n: came.append((n, threading.current_thread())))
    loop.turn_until(lambda: came)
    assert [(42, threading.current_thread())] == came


def test_only_the_newest_of_a_channel_comes_back(jobs: Jobs, loop: Loop) -> None:
    gate, came = threading.Event(), list[int]()

    def slow(task: Any) -> int:
        gate.wait(5)
        return 0

    jobs.run("frame", slow, came.append)
    for i in range(1, 6):
        jobs.run("frame", lambda task, i=i: i, came.append)
    gate.set()
    loop.turn_until(lambda: not jobs.is_busy("frame"))
    assert came == [5]


def test_a_cancelled_task_is_told_and_says_nothing(jobs: Jobs, loop: Loop) -> None:
    started, said = threading.Event(), list[Any]()

    def work(task: Any) -> None:
        started.set()
        while True:
            task.report(1, None)

    jobs.run("sheet", work, said.append, said.append)
    assert started.wait(5)
    jobs.cancel("sheet")
    other: list[int] = []
    jobs.run("other", lambda task: 1, other.append)
    loop.turn_until(lambda: other)
    assert said == []


def test_trouble_a_coach_may_read_goes_to_failed(jobs: Jobs, loop: Loop) -> None:
    troubles: list[TapmarkError] = []

    def work(task: Any) -> None:
        raise ClipUnreadable("no clip")

    jobs.run("pictures", work, lambda value: None, troubles.append)
    loop.turn_until(lambda: troubles)
    assert str(troubles[0]) == "no clip"


def test_our_own_mistake_is_shown_as_one(
    jobs: Jobs, loop: Loop, crashes: list[BaseException]
) -> None:
    jobs.run("pictures", lambda task: 1 // 0, lambda value: None)
    loop.turn_until(lambda: crashes)
    assert isinstance(crashes[0], ZeroDivisionError)


def test_progress_comes_in_order_and_a_few_at_a_time(jobs: Jobs, loop: Loop) -> None:
    seen: list[int] = []
    ends: list[int] = []

    def work(task: Any) -> int:
        for i in range(30):
            task.report(i, 30)
        return 1

    jobs.run("import", work, ends.append, progress=lambda so_far, of: seen.append(so_far))
    before = 0
    for _ in range(200_000):
        loop.turn()
        assert len(seen) - before <= AT_ONCE
        before = len(seen)
        if ends:
            break
    assert list(range(30)) == seen


def test_nothing_is_polled_when_nothing_is_under_way(jobs: Jobs, loop: Loop) -> None:
    came: list[int] = []
    jobs.run("page", lambda task: 1, came.append)
    loop.turn_until(lambda: came)
    loop.turn()
    assert loop.due == {}
