"""Plays two runs together: both halves of a moment are cut beside the window and shown when due.

This run goes by its own clock, the other one follows it. Where two cuts take longer than a shown
frame may, they are made at half the size and enlarged: the motion goes before the sharpness.
"""

import tkinter as tk
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, replace
from time import perf_counter
from typing import Any

from PIL import Image

from tapmark.app.jobs import Task
from tapmark.app.shell.comparing import PAGE
from tapmark.app.shell.context import Context
from tapmark.app.state.playback import Due, Playback, begun, reel_of
from tapmark.app.state.session import AppState
from tapmark.app.widgets.pieces import soon

AHEAD = 3
POLL_S = 0.02
LEAST_HZ = 24.0  # shown frames per second, else cuts of half the size
Pair = tuple[Image.Image, Image.Image]
Cutter = Callable[[int], Pair]
"""Returns both halves of a moment, by how many times smaller they are made first; on any thread."""


@dataclass(frozen=True)
class _Ready:
    picture: int
    pair: Pair
    cost_s: float


class PairPlayer:
    """Begins and ends as the state says.

    cutter_of: the way to both halves for a frame of this run; None where one cannot be shown.
    show: takes both halves of the frame that is due.
    """

    def __init__(
        self,
        widget: tk.Misc,
        context: Context,
        cutter_of: Callable[[int], Cutter | None],
        show: Callable[[Pair], None],
    ) -> None:
        self._widget, self._context = widget, context
        self._cutter_of, self._show = cutter_of, show
        self._play: Playback | None = None
        self._whose: tuple[Any, ...] = ()
        self._queue: deque[Due] = deque()
        self._ready: dict[int, Pair] = {}
        self._under_way: set[int] = set()
        self._cost_s = 0.02
        self._timer = ""
        self.shrink = 1
        self.n_shown = 0

    @property
    def is_on(self) -> bool:
        """Say whether both are played just now."""
        return self._play is not None

    def follow(self, state: AppState) -> None:
        """Begin, end, or begin anew as the state asks."""
        compared, gallery = state.compare, state.marking.gallery
        can = gallery is not None and compared.gallery is not None and state.run is not None
        if not compared.playing.is_on or not can:
            self.stop()
            return
        whose = (gallery, compared.gallery, compared.playing, compared.by_phase)
        if self.is_on and whose == self._whose:
            return
        self.stop()
        self._whose = whose
        assert state.run
        reel = reel_of(state.the_pictures, state.run.set_up.slow_factor)
        self._play = begun(reel, state.step, compared.picture, compared.playing, perf_counter())
        self._last = self._play.begin()
        self._tick()

    def stop(self) -> None:
        """Show nothing more."""
        if self._timer:
            self._widget.winfo_toplevel().after_cancel(self._timer)
        for i in self._under_way:
            self._context.painter.cancel(f"pair {i}")
        self._timer, self._play, self._whose = "", None, ()  # or it would hold both runs' frames
        self._queue.clear()
        self._ready.clear()
        self._under_way.clear()

    def _tick(self) -> None:
        self._timer = ""
        state = self._context.state
        if state.page != PAGE or self._play is None or not state.compare.playing.is_on:
            self._end(state)  # held a moment ago: what was due may not move the frame any more
            return
        due = self._due_now()
        if due:
            state.compare.picture = due.picture
            self.n_shown += 1
            self._show(self._ready.pop(due.picture))
        if due and due.is_last:
            self._end(state)
            state.notify()
            return
        self._plan(self._play)
        wait_s = POLL_S
        if self._queue and self._queue[0].picture in self._ready:
            wait_s = self._queue[0].at_s - perf_counter()
        self._timer = soon(self._widget, max(1, round(1000 * wait_s)), self._tick)

    def _end(self, state: AppState) -> None:
        state.compare.playing = replace(state.compare.playing, is_on=False)
        self.stop()

    def _due_now(self) -> Due | None:
        due, now = None, perf_counter()
        while self._queue and self._queue[0].at_s <= now and self._queue[0].picture in self._ready:
            if due:
                self._ready.pop(due.picture, None)
            due = self._queue.popleft()
        return due

    def _plan(self, play: Playback) -> None:
        while len(self._queue) < AHEAD:
            late_s = perf_counter() + POLL_S + self._cost_s * (1 + len(self._under_way))
            following = play.next(self._last, late_s)
            if following is None:
                return
            self._last = following
            self._queue.append(following)
            self._prepare(following.picture)

    def _prepare(self, picture: int) -> None:
        cutter = self._cutter_of(picture)
        if picture in self._ready or picture in self._under_way or cutter is None:
            return
        self._under_way.add(picture)
        shrink = self.shrink

        def work(task: Task) -> _Ready:
            start = perf_counter()
            pair = cutter(shrink)
            return _Ready(picture, pair, perf_counter() - start)

        def done(ready: _Ready) -> None:
            self._under_way.discard(ready.picture)
            self._ready[ready.picture] = ready.pair
            self._cost_s += 0.2 * (ready.cost_s - self._cost_s)
            if self._cost_s > 1 / LEAST_HZ:
                self.shrink = 2

        def failed(trouble: Exception) -> None:
            self._under_way.discard(picture)
            self._end(self._context.state)
            self._context.failed(trouble)  # type: ignore[arg-type]

        self._context.painter.run(f"pair {picture}", work, done, failed, by="run")
