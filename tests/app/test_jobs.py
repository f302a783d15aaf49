"""Work beside the window: only the newest counts, late results are dropped, nothing is left."""

import threading
import time
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from tapmark.app.jobs import AT_ONCE, Jobs, Whose
from tapmark.errors import ClipUnreadable, TapmarkError


class Loop:
    """An event loop by hand: what was asked for later is run when told to."""

    def __init__(self) -> None:
        self.due: dict[int, Callable[[], None]] = {}
        self._n = 0

    def after(self, ms: int, action: Callable[[], None]) -> int:
        self._n += 1
        self.due[self._n] = action
        return self._n

    def cancel(self, key: int) -> None:
        self.due.pop(key, None)

    def turn(self) -> None:
        due, self.due = self.due, {}
        for action in due.values():
            action()

    def turns(self) -> Iterator[None]:
        """Half a minute of turns with a rest: a worker may wait long for a busy machine."""
        for _ in range(30_000):
            yield
            time.sleep(0.001)

    def turn_until(self, held: Callable[[], object]) -> None:
        for _ in self.turns():
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
    jobs.run(
        "page",
        lambda task: 6 * 7,
        lambda n: came.append((n, threading.current_thread())),
        by="window",
    )
    loop.turn_until(lambda: came)
    assert [(42, threading.current_thread())] == came


def test_only_the_newest_of_a_channel_comes_back(jobs: Jobs, loop: Loop) -> None:
    gate, came = threading.Event(), list[int]()

    def slow(task: Any) -> int:
        gate.wait(5)
        return 0

    jobs.run("frame", slow, came.append, by="window")
    for i in range(1, 6):
        jobs.run("frame", lambda task, i=i: i, came.append, by="window")
    gate.set()
    loop.turn_until(lambda: not jobs.is_busy("frame"))
    assert came == [5]


def test_a_cancelled_task_is_told_and_says_nothing(jobs: Jobs, loop: Loop) -> None:
    started, said = threading.Event(), list[Any]()

    def work(task: Any) -> None:
        started.set()
        while True:
            task.report(1, None)

    jobs.run("sheet", work, said.append, said.append, by="window")
    assert started.wait(5)
    jobs.cancel("sheet")
    other: list[int] = []
    jobs.run("other", lambda task: 1, other.append, by="window")
    loop.turn_until(lambda: other)
    assert said == []


def test_trouble_a_coach_may_read_goes_to_failed(jobs: Jobs, loop: Loop) -> None:
    troubles: list[TapmarkError] = []

    def work(task: Any) -> None:
        raise ClipUnreadable("no clip")

    jobs.run("pictures", work, lambda value: None, troubles.append, by="window")
    loop.turn_until(lambda: troubles)
    assert str(troubles[0]) == "no clip"


def test_our_own_mistake_is_shown_as_one(
    jobs: Jobs, loop: Loop, crashes: list[BaseException]
) -> None:
    jobs.run("pictures", lambda task: 1 // 0, lambda value: None, by="window")
    loop.turn_until(lambda: crashes)
    assert isinstance(crashes[0], ZeroDivisionError)


def test_progress_comes_in_order_and_a_few_at_a_time(jobs: Jobs, loop: Loop) -> None:
    seen: list[int] = []
    ends: list[int] = []

    def work(task: Any) -> int:
        for i in range(30):
            task.report(i, 30)
        return 1

    jobs.run(
        "import", work, ends.append, progress=lambda so_far, of: seen.append(so_far), by="window"
    )
    before = 0
    for _ in loop.turns():
        loop.turn()
        assert len(seen) - before <= AT_ONCE
        before = len(seen)
        if ends:
            break
    assert list(range(30)) == seen


def test_nothing_is_polled_when_nothing_is_under_way(jobs: Jobs, loop: Loop) -> None:
    came: list[int] = []
    jobs.run("page", lambda task: 1, came.append, by="window")
    loop.turn_until(lambda: came)
    loop.turn()
    assert loop.due == {}


def test_a_callback_that_raises_keeps_no_other_result_from_coming(jobs: Jobs, loop: Loop) -> None:
    came: list[str] = []

    def raises(value: object) -> None:
        raise ZeroDivisionError("our own mistake")

    jobs.run("first", lambda task: 1, raises, by="window")
    jobs.run("second", lambda task: 2, lambda value: came.append("second"), by="window")
    jobs.run("third", lambda task: 1 // 0, came.append, by="window")
    jobs.run("fourth", lambda task: 4, lambda value: came.append("fourth"), by="window")
    jobs._crashed = raises  # noqa: SLF001 - as the window's own does
    mistakes = 0
    for _ in loop.turns():
        try:
            loop.turn()
        except ZeroDivisionError:
            mistakes += 1
        if jobs.is_idle:
            break
    assert (came, mistakes) == (["second", "fourth"], 2)
    assert not jobs.is_handing_over


def test_what_looks_after_each_turn_may_raise_and_results_still_come(
    jobs: Jobs, loop: Loop
) -> None:
    came: list[int] = []
    mistakes: list[BaseException] = [ZeroDivisionError()]

    def looked() -> None:
        if mistakes:
            raise mistakes.pop()

    jobs.looked = looked
    jobs.run("page", lambda task: 7, came.append, by="window")
    with pytest.raises(ZeroDivisionError):
        loop.turn_until(lambda: False)
    loop.turn_until(lambda: came)
    assert came == [7]


@pytest.mark.parametrize(
    ("by", "open_now", "comes"),
    [
        ("window", Whose("other"), True),
        ("squad", Whose("here", "P02"), True),
        ("squad", Whose("other", "P01", "2026-05-14", "run-1"), False),
        ("athlete", Whose("here", "P01", "2026-05-15", "run-2"), True),
        ("athlete", Whose("here", "P02", "2026-05-14", "run-1"), False),
        ("run", Whose("here", "P01", "2026-05-14", "run-1"), True),
        ("run", Whose("here", "P01", "2026-05-14", "run-2"), False),
        ("run", Whose("here", "P01", "2026-05-15", "run-1"), False),
    ],
)
def test_a_result_counts_for_whom_it_was_asked(
    jobs: Jobs, loop: Loop, by: str, open_now: Whose, comes: bool
) -> None:
    told: list[tuple[str, Any]] = []
    now = [Whose("here", "P01", "2026-05-14", "run-1")]
    jobs.at_hand = lambda: now[0]

    def fails(task: Any) -> None:
        raise ClipUnreadable("no clip")

    jobs.run(
        "page",
        lambda task: 1,
        lambda value: told.append(("done", value)),
        by=by,
        late=lambda value: told.append(("late", value)),
    )
    jobs.run(
        "other", fails, told.append, lambda trouble: told.append(("failed", str(trouble))), by=by
    )
    now[0] = open_now
    loop.turn_until(lambda: jobs.is_idle)
    assert told == ([("done", 1), ("failed", "no clip")] if comes else [("late", 1)])
