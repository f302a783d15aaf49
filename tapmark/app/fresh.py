"""Redraw only what is new: remember what was drawn last."""

from typing import Any


class Fresh:
    """Remembers the values of the last drawing."""

    def __init__(self) -> None:
        self._last: tuple[Any, ...] | None = None

    def is_new(self, *values: Any) -> bool:
        """Say whether any value differs from the last call, and remember them."""
        if self._last is not None and self._last == values:
            return False
        self._last = values
        return True

    def forget(self) -> None:
        """Make the next call new, whatever it brings."""
        self._last = None
