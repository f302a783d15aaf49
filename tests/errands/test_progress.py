"""The bar of a long command: drawn over on a terminal, plain lines elsewhere, silent for one."""

import io
from pathlib import Path

import pytest

from tapmark.errands.progress import WIDE, Progress

PIECES = [Path(f"K{i:02}.pdf") for i in range(1, 26)]


class Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self):
        return True


def seen(written):
    """What stands on a terminal's line at the end: each return goes back to its first column."""
    line = ""
    for piece in written.split("\r"):
        line = piece + line[len(piece) :]
    return line.rstrip()


def test_a_terminal_gets_one_line_that_grows_from_empty_to_full():
    stream = Terminal()
    assert list(Progress(stream, 25, "sheets").around(PIECES)) == PIECES
    drawn = [part for part in stream.getvalue().split("\r") if part.startswith("[")]
    assert drawn[0] == f"[{'.' * WIDE}] 0 of 25 sheets"
    assert drawn[-1] == f"[{'#' * WIDE}] 25 of 25 sheets"
    full = [line.count("#") for line in drawn]
    assert len(drawn) == 26
    assert full == sorted(full)
    assert "\n" not in stream.getvalue()


def test_the_line_is_clean_when_a_result_is_printed_and_at_the_end():
    stream = Terminal()
    for _ in Progress(stream, 25, "sheets").around(PIECES):
        assert seen(stream.getvalue()) == ""
    assert seen(stream.getvalue()) == ""


def test_a_piece_that_fails_leaves_no_bar_before_the_message():
    stream = Terminal()

    def pieces():
        yield PIECES[0]
        raise OSError("full")

    with pytest.raises(OSError, match="full"):
        list(Progress(stream, 25, "sheets").around(pieces()))
    assert seen(stream.getvalue()) == ""
    assert "1 of 25 sheets" in stream.getvalue()


def test_a_file_or_pipe_gets_plain_lines():
    stream = io.StringIO()
    list(Progress(stream, 3, "sheets").around(PIECES[:3]))
    assert stream.getvalue() == "1 of 3 sheets\n2 of 3 sheets\n3 of 3 sheets\n"


@pytest.mark.parametrize("stream", [io.StringIO(), Terminal()])
def test_a_single_piece_needs_no_bar(stream):
    list(Progress(stream, 1, "sheets").around(PIECES[:1]))
    assert stream.getvalue() == ""
