"""How far a long work has come: who is told and may stop it; the bar on a terminal."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final, Protocol, TextIO

from tapmark.errors import Cancelled

WIDE: Final = 30
FULL, EMPTY = "#", "."
SOON_S: Final = 0.3
"""What is over by then needs no bar; the window waits as long before it shows one."""


class Progress(Protocol):
    """Who waits for a long work: it is told how far the work is, and is asked whether to stop."""

    def report(self, so_far: int, of: int | None, /) -> object:
        """Take (pieces done so far, pieces in all or None when nobody knows)."""

    def is_cancelled(self) -> bool:
        """Say whether the work is to stop."""


@dataclass(frozen=True)
class Told:
    """Progress made of functions; without any, nobody waits and nothing is stopped."""

    report: Callable[[int, int | None], object] = lambda so_far, of: None
    is_cancelled: Callable[[], bool] = lambda: False


NOBODY: Final = Told()


def refuse_cancelled(progress: Progress) -> None:
    """Raise Cancelled where the work is to stop."""
    if progress.is_cancelled():
        raise Cancelled


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


def with_bar(pieces: Iterable[Path], stream: TextIO, total: int, what: str) -> Iterator[Path]:
    """Yield files as they are written, and tell how many of them are done; silent for a single one.

    stream: where talk goes; a terminal gets one line that is drawn over, below what is printed
            between the files, and taken away at the end and when a file fails, so that messages
            stand alone. A file or a pipe gets a line a piece.
    what:   the pieces, in words: "sheets".
    """
    line = OneLine(stream)

    def tell(n_done: int) -> None:
        if total > 1:
            line.draw(bar(n_done, total, what))
            if n_done and not stream.isatty():
                stream.write(f"{n_done} of {total} {what}\n")
                stream.flush()

    try:
        tell(0)
        for n_done, piece in enumerate(pieces, 1):
            line.clear()
            yield piece
            tell(n_done)
    finally:
        line.clear()


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
        """Return what the work reports to as it goes on; what: its pieces, as "pictures read"."""

        def tell(so_far: int, of: int | None) -> None:
            if self.clock() - self._began_s > SOON_S:
                self._line.draw(bar(so_far, of, what))

        return Told(tell)


def bar(n_done: int, total: int | None, what: str) -> str:
    """Return a bar and the count in words, without an end of line; a promised total may be low."""
    if not total:
        return f"{n_done} {what}"
    full = min(WIDE, WIDE * n_done // total)
    return f"[{FULL * full}{EMPTY * (WIDE - full)}] {n_done} of {max(total, n_done)} {what}"
