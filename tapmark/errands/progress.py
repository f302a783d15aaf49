"""How far a long command has come: a bar on a terminal, plain lines elsewhere."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final, TextIO

WIDE: Final = 30
FULL, EMPTY = "#", "."


@dataclass(frozen=True)
class Progress:
    """Tells on a stream how many of `total` pieces are done; silent for a single one.

    stream: where talk goes; a terminal gets one line that is drawn over, a file or a pipe gets a
            line a piece.
    what:   the pieces, in words: "sheets".
    """

    stream: TextIO
    total: int
    what: str

    def around(self, pieces: Iterable[Path]) -> Iterator[Path]:
        """Yield the files as they are written; the bar stands below what is printed between them.

        It is taken away at the end and when a piece fails, so that messages stand alone.
        """
        try:
            self._tell(0)
            for n_done, piece in enumerate(pieces, 1):
                self._clear()
                yield piece
                self._tell(n_done)
        finally:
            self._clear()

    def line(self, n_done: int) -> str:
        """Return the bar, without an end of line."""
        full = WIDE * n_done // self.total
        return f"[{FULL * full}{EMPTY * (WIDE - full)}] {self._count(n_done)}"

    def _count(self, n_done: int) -> str:
        return f"{n_done} of {self.total} {self.what}"

    def _tell(self, n_done: int) -> None:
        if self.total < 2:
            return
        if self.stream.isatty():
            self._write(f"\r{self.line(n_done)}")
        elif n_done:
            self._write(f"{self._count(n_done)}\n")

    def _clear(self) -> None:
        if self.total > 1 and self.stream.isatty():
            self._write(f"\r{' ' * len(self.line(self.total))}\r")

    def _write(self, text: str) -> None:
        self.stream.write(text)
        self.stream.flush()
