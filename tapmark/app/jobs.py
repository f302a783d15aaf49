"""Work beside the window: the only threads of the room.

The window, its state and the files of the squad belong to the main thread. A job is a function of
plain values that returns a plain value; what it gives comes back to the main thread through a
queue that is looked at every few milliseconds, only while something is under way.
"""

import queue
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from tapmark.errands.progress import SOON_S
from tapmark.errors import Cancelled, TapmarkError

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
        "beside numbers",
        "stills",
    }
)
"""Channels of work that nobody waits for: it fills in what is on the screen already."""

Work = Callable[["Task"], Any]


@dataclass(eq=False)
class Task:
    """One piece of work: the worker asks it whether to stop and tells it how far it is.

    done, failed, progress run on the main thread. progress gets (so far, of how many or None).
    stopped: what to say once it was stopped; "" = it must not be stopped half way.
    began_s: when it was asked for, on the clock of its Jobs.
    """

    channel: str
    work: Work
    done: Callable[[Any], object]
    failed: Callable[[TapmarkError], None]
    progress: Callable[[int, int | None], None]
    tell: Callable[["Task", str, Any], None]
    stopped: str = ""
    began_s: float = 0.0
    so_far: tuple[int, int | None] = (0, None)
    _stop: threading.Event = field(default_factory=threading.Event)

    def is_cancelled(self) -> bool:
        """Say whether nobody wants the result any more."""
        return self._stop.is_set()

    def report(self, so_far: int, of: int | None) -> None:
        """Pass progress to the main thread; raise Cancelled when nobody wants the result."""
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
    ) -> Task:
        """Start a task; a waiting or running one of the same channel is cancelled."""
        self.cancel(channel)
        task = Task(channel, work, done, failed, progress, self._put, stopped, self.clock())
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
        """Return work that somebody has been waiting for longer than 0.3 s, or None."""
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

    def _put(self, task: Task, what: str, value: Any) -> None:
        self._results.put((task, what, value))

    def _look_soon(self) -> None:
        if self._timer is None:
            self._timer = self._after(POLL_MS, self._look)

    def _look(self) -> None:
        self._timer = None
        for _ in range(AT_ONCE):
            try:
                task, what, value = self._results.get_nowait()
            except queue.Empty:
                break
            self._hand_over(task, what, value)
        self.looked()
        if self._pending:
            self._look_soon()

    def _hand_over(self, task: Task, what: str, value: Any) -> None:
        if what == "progress":
            if not task.is_cancelled():
                task.so_far = value
                task.progress(*value)
            return
        self._pending -= 1
        if self._newest.get(task.channel) is task:
            del self._newest[task.channel]
        if task.is_cancelled():
            return
        tell: dict[str, Callable[[Any], object]]
        tell = {"done": task.done, "failed": task.failed, "crashed": self._crashed}
        if what in tell:
            tell[what](value)
