"""Long work beside the window: threads, progress, stopping, and whose result it is.

The window, its state and the files of the squad belong to the main thread. A job is a function of
plain values that returns a plain value; what it gives comes back to the main thread through a
queue that is looked at every few milliseconds, only while something is under way.

Every job carries for whom it was asked, and says how much of that must still be open when it comes
back: a result of another run, athlete or squad is dropped, or filed by a job that knows its place.
"""

import queue
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from tapmark.errors import Cancelled, TapmarkError
from tapmark.progress import SOON_S

POLL_MS = 15
AT_ONCE = 10  # results handed over in one turn, so that the window stays alive
BESIDE = frozenset(
    {
        "full picture",
        "comparison",
        "page",
        "checks",
        "reading",
        "glance",
        "compare numbers",
        "stills",
    }
)
"""Channels of work that fills in what is on the screen already; the work bar does not show it."""
Work = Callable[["Task"], Any]


class Whose(NamedTuple):
    """For whom something is asked: squad, athlete, visit and run that are open, "" for none."""

    squad: str = ""
    code: str = ""
    dated: str = ""
    run: str = ""


PARTS = {"window": 0, "squad": 1, "athlete": 2, "run": 4}
"""How much of Whose must be the same for a result to count; "window" where it files itself."""


@dataclass(eq=False)
class Task:
    """One piece of work: the worker asks it whether to stop and tells it how far it is.

    done, failed, progress run on the main thread. progress gets (so far, of how many or None).
    whose, by: for whom it was asked, and how much of that must still be open (see PARTS).
    late: gets a result that is dropped, e.g. to close it.
    stopped: what to say once it was stopped; "" = it must not be stopped half way.
    began_s: when it was asked for, on the clock of its Jobs.
    """

    channel: str
    work: Work
    done: Callable[[Any], object]
    failed: Callable[[TapmarkError], None]
    progress: Callable[[int, int | None], None]
    tell: Callable[["Task", str, Any], None]
    whose: Whose = field(default_factory=Whose)
    by: str = "window"
    late: Callable[[Any], object] = lambda value: None
    stopped: str = ""
    began_s: float = 0.0
    so_far: tuple[int, int | None] = (0, None)
    _stop: threading.Event = field(default_factory=threading.Event)

    def is_cancelled(self) -> bool:
        """Say whether the result will be dropped."""
        return self._stop.is_set()

    def report(self, so_far: int, of: int | None) -> None:
        """Pass progress to the main thread; raise Cancelled when the result will be dropped."""
        if self.is_cancelled():
            raise Cancelled
        self.tell(self, "progress", (so_far, of))

    def cancel(self) -> None:
        """Ask the worker to stop; its late result is dropped."""
        self._stop.set()


class Jobs:
    """One worker. On each channel only the newest waiting task is kept.

    after, after_cancel: of the event loop, so that a test can use a clock of its own.
    crashed:             told of an error that is our own mistake, on the main thread.
    clock:               seconds that never go back.
    at_hand:             what is open now.
    is_handing_over:     a result is being taken in; what happens now was not asked for by hand.
    looked:              called on the main thread every few milliseconds while work is under way.
    """

    def __init__(
        self,
        after: Callable[[int, Callable[[], None]], Any],
        after_cancel: Callable[[Any], None],
        crashed: Callable[[BaseException], None],
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._after, self._after_cancel, self._crashed = after, after_cancel, crashed
        self.clock = clock
        self.at_hand: Callable[[], Whose] = Whose
        self.is_handing_over = False
        self.looked: Callable[[], object] = lambda: None
        self._waiting: queue.Queue[Task | None] = queue.Queue()
        self._results: queue.Queue[tuple[Task, str, Any]] = queue.Queue()
        self._newest: dict[str, Task] = {}
        self._pending = 0
        self._timer: Any = None
        self._worker: threading.Thread | None = None

    def run(
        self,
        channel: str,
        work: Work,
        done: Callable[[Any], object],
        failed: Callable[[TapmarkError], None] = lambda trouble: None,
        progress: Callable[[int, int | None], None] = lambda so_far, of: None,
        stopped: str = "",
        *,
        by: str,
        late: Callable[[Any], object] = lambda value: None,
    ) -> Task:
        """Start a task for what is open now; one of the same channel is cancelled.

        by: how much of what is open now must still be open when it comes back (see PARTS).
        late: gets a result that is dropped.
        """
        self.cancel(channel)
        whose = self.at_hand()
        task = Task(channel, work, done, failed, progress, self._put, whose, by, late, stopped)
        task.began_s = self.clock()
        self._newest[channel] = task
        self._pending += 1
        self._start_worker()
        self._waiting.put(task)
        self._look_soon()
        return task

    def cancel(self, channel: str) -> None:
        """Drop what the channel is doing; nothing happens where it does nothing."""
        task = self._newest.pop(channel, None)
        if task:
            task.cancel()

    def is_busy(self, channel: str) -> bool:
        """Say whether a result of the channel is still to come."""
        return channel in self._newest

    def waited_for(self) -> Task | None:
        """Return work that the coach has been waiting for longer than 0.3 s, or None."""
        for task in self._newest.values():
            if task.channel not in BESIDE and self.clock() - task.began_s > SOON_S:
                return task
        return None

    def stop(self) -> str:
        """Stop one piece of work that may be stopped; return what to say, "" if there is none."""
        for channel, task in self._newest.items():
            if task.stopped:
                self.cancel(channel)
                return task.stopped
        return ""

    @property
    def is_idle(self) -> bool:
        """True when no result is still to come."""
        return self._pending == 0

    def close(self) -> None:
        """Cancel everything and end the worker."""
        for channel in tuple(self._newest):
            self.cancel(channel)
        if self._timer is not None:
            self._after_cancel(self._timer)
            self._timer = None
        if self._worker:
            self._waiting.put(None)
            self._worker.join(timeout=10)
            self._worker = None

    def _start_worker(self) -> None:
        if self._worker is None:
            self._worker = threading.Thread(target=self._toil, name="tapmark job", daemon=True)
            self._worker.start()

    def _toil(self) -> None:
        while (task := self._waiting.get()) is not None:
            try:
                if task.is_cancelled():
                    raise Cancelled
                self._put(task, "done", task.work(task))
            except Cancelled:
                self._put(task, "cancelled", None)
            except TapmarkError as trouble:
                self._put(task, "failed", trouble)
            except Exception as mistake:  # noqa: BLE001 - handed to the main thread, which shows it
                self._put(task, "crashed", mistake)
            del task  # or it would hold the frames it knew of until the next one comes

    def _put(self, task: Task, what: str, value: Any) -> None:
        self._results.put((task, what, value))

    def _look_soon(self) -> None:
        if self._timer is None:
            self._timer = self._after(POLL_MS, self._look)

    def _look(self) -> None:
        """Hand over the results that have come; when one raises, the others still come after it."""
        self._timer = None
        try:
            for _ in range(AT_ONCE):
                try:
                    task, what, value = self._results.get_nowait()
                except queue.Empty:
                    break
                self._hand_over(task, what, value)
            self.looked()
        finally:
            if self._pending:
                self._look_soon()

    def _hand_over(self, task: Task, what: str, value: Any) -> None:
        if what != "progress":
            self._pending -= 1
            if self._newest.get(task.channel) is task:
                del self._newest[task.channel]
        self.is_handing_over = True
        try:
            self._take_in(task, what, value)
        finally:
            self.is_handing_over = False

    def _take_in(self, task: Task, what: str, value: Any) -> None:
        """Give a result to the caller; a crash is always told."""
        if what == "crashed" and not task.is_cancelled():
            self._crashed(value)
        elif task.is_cancelled() or not self._is_wanted(task):
            if what == "done":
                task.late(value)
        elif what == "progress":
            task.so_far = value
            task.progress(*value)
        elif what in ("done", "failed"):
            (task.done if what == "done" else task.failed)(value)

    def _is_wanted(self, task: Task) -> bool:
        n = PARTS[task.by]
        return self.at_hand()[:n] == task.whose[:n]
