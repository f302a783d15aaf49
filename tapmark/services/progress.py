"""How far a long command has come: one line on a terminal, drawn over and taken away again."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final, TextIO

WIDE: Final = 30
FULL, EMPTY = "#", "."
SOON_S: Final = 0.3
"""What is over by then needs no bar; the window waits as long before it shows one."""
Told = Callable[[int, int | None], None]
"""Called with (pieces done so far, pieces in all or None when nobody knows)."""


@dataclass
class OneLine:
    """A line that is drawn over on a terminal; nothing is drawn anywhere else."""

    stream: TextIO
    _width: int = 0

    def draw(self, text: str) -> None:
        """Put the text in the place of what stood there."""
        if self.stream.isatty():
            padded = text.ljust(self._width)
            self._width = len(padded)  # first: a Ctrl-C here still takes the line away
            self._write(f"\r{padded}")

    def clear(self) -> None:
        """Take the line away, so that a message stands alone."""
        if self._width:
            self._write(f"\r{' ' * self._width}\r")
            self._width = 0

    def _write(self, text: str) -> None:
        self.stream.write(text)
        self.stream.flush()


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
        line = OneLine(self.stream)
        try:
            self._tell(line, 0)
            for n_done, piece in enumerate(pieces, 1):
                line.clear()
                yield piece
                self._tell(line, n_done)
        finally:
            line.clear()

    def _tell(self, line: OneLine, n_done: int) -> None:
        if self.total < 2:
            return
        line.draw(bar(n_done, self.total, self.what))
        if n_done and not self.stream.isatty():
            self.stream.write(f"{n_done} of {self.total} {self.what}\n")
            self.stream.flush()


@dataclass
class Waiting:
    """A bar for one long piece of work, on a terminal only, from 0.3 s after its start on.

    clock: seconds that never go back. Leaving the `with` takes the bar away, whatever happened.
    """

    stream: TextIO
    clock: Callable[[], float]
    _line: OneLine = field(init=False)
    _began_s: float = field(init=False)

    def __enter__(self) -> "Waiting":
        self._line, self._began_s = OneLine(self.stream), self.clock()
        return self

    def __exit__(self, *error: object) -> None:
        self._line.clear()

    def telling(self, what: str) -> Told:
        """Return what the work calls as it goes on; what: its pieces, as "pictures read"."""

        def tell(so_far: int, of: int | None) -> None:
            if self.clock() - self._began_s > SOON_S:
                self._line.draw(bar(so_far, of, what))

        return tell


def bar(n_done: int, total: int | None, what: str) -> str:
    """Return a bar and the count in words, without an end of line; a promised total may be low."""
    if not total:
        return f"{n_done} {what}"
    full = min(WIDE, WIDE * n_done // total)
    return f"[{FULL * full}{EMPTY * (WIDE - full)}] {n_done} of {max(total, n_done)} {what}"
