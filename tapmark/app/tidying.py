"""Collecting garbage on the window's own thread.

Python may run its collector on whichever thread happens to allocate. What a window has left
behind must be let go on the thread that made it, so the collector is kept off while the window
is open and called here between two deeds of the coach. It also never stops a tap half way.
"""

import gc
from collections.abc import Callable
from typing import Any

EVERY_MS = 4_000
ALL_EVERY = 15  # every so many turns the old objects are looked through as well


class Tidying:
    """Calls the collector now and then until stopped; after and after_cancel are the loop's."""

    def __init__(
        self, after: Callable[[int, Callable[[], None]], Any], after_cancel: Callable[[Any], None]
    ) -> None:
        self._after, self._after_cancel = after, after_cancel
        self._turns = 0
        self._was_on = gc.isenabled()
        gc.disable()
        self._timer = after(EVERY_MS, self._tidy)

    def _tidy(self) -> None:
        self._turns += 1
        gc.collect(2 if self._turns % ALL_EVERY == 0 else 1)
        self._timer = self._after(EVERY_MS, self._tidy)

    def stop(self) -> None:
        """Give the collector back as it was."""
        self._after_cancel(self._timer)
        if self._was_on:
            gc.enable()
