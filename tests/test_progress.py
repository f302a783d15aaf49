"""The bar of a long command: drawn over on a terminal, plain lines elsewhere, silent for one."""

import io
from pathlib import Path

import pytest

from tapmark.progress import SOON_S, WIDE, Waiting, with_bar

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
    assert list(with_bar(PIECES, stream, 25, "sheets")) == PIECES
    drawn = [part for part in stream.getvalue().split("\r") if part.startswith("[")]
    assert drawn[0] == f"[{'.' * WIDE}] 0 of 25 sheets"
    assert drawn[-1] == f"[{'#' * WIDE}] 25 of 25 sheets"
    full = [line.count("#") for line in drawn]
    assert len(drawn) == 26
    assert full == sorted(full)
    assert "\n" not in stream.getvalue()


def test_the_line_is_clean_when_a_result_is_printed_and_at_the_end():
    stream = Terminal()
    for _ in with_bar(PIECES, stream, 25, "sheets"):
        assert seen(stream.getvalue()) == ""
    assert seen(stream.getvalue()) == ""


def test_a_piece_that_fails_leaves_no_bar_before_the_message():
    stream = Terminal()

    def pieces():
        yield PIECES[0]
        raise OSError("full")

    with pytest.raises(OSError, match="full"):
        list(with_bar(pieces(), stream, 25, "sheets"))
    assert seen(stream.getvalue()) == ""
    assert "1 of 25 sheets" in stream.getvalue()


def test_a_file_or_pipe_gets_plain_lines():
    stream = io.StringIO()
    list(with_bar(PIECES[:3], stream, 3, "sheets"))
    assert stream.getvalue() == "1 of 3 sheets\n2 of 3 sheets\n3 of 3 sheets\n"


@pytest.mark.parametrize("stream", [io.StringIO(), Terminal()])
def test_a_single_piece_needs_no_bar(stream):
    list(with_bar(PIECES[:1], stream, 1, "sheets"))
    assert stream.getvalue() == ""


class Clock:
    """Seconds that go on only when a test says so."""

    s = 50.0

    def __call__(self):
        return self.s


def waited(stream, clock, steps):
    """Report (seconds passed, pictures, of how many) one after the other; return what was seen."""
    lines = []
    with Waiting(stream, clock) as waiting:
        told = waiting.telling("frames read")
        for passed_s, so_far, of in steps:
            clock.s = Clock.s + passed_s
            told.report(so_far, of)
            lines.append(seen(stream.getvalue()))
    return lines


def test_a_long_clip_shows_a_bar_only_once_more_than_three_tenths_have_passed():
    steps = [(0.0, 0, 240), (SOON_S, 60, 240), (SOON_S + 0.01, 80, 240), (2.0, 240, 240)]
    stream = Terminal()
    lines = waited(stream, Clock(), steps)
    third = f"[{'#' * 10}{'.' * 20}] 80 of 240 frames read"
    assert ["", "", third, f"[{'#' * WIDE}] 240 of 240 frames read"] == lines
    assert seen(stream.getvalue()) == ""


def test_a_file_or_pipe_hears_nothing_of_a_clip_being_read():
    stream = io.StringIO()
    waited(stream, Clock(), [(1.0, 100, 240), (9.0, 240, 240)])
    assert stream.getvalue() == ""


def test_without_a_promised_count_the_pictures_are_counted_and_a_low_promise_is_raised():
    lines = waited(Terminal(), Clock(), [(1.0, 1000, None), (2.0, 9, None), (3.0, 250, 240)])
    full = f"[{'#' * WIDE}] 250 of 250 frames read"
    assert ["1000 frames read", "9 frames read", full] == lines


def test_work_that_fails_leaves_no_bar_before_the_message():
    stream, clock = Terminal(), Clock()
    with pytest.raises(KeyboardInterrupt), Waiting(stream, clock) as waiting:
        clock.s += 1
        waiting.telling("frames read").report(3, 240)
        raise KeyboardInterrupt
    assert seen(stream.getvalue()) == ""
    assert "3 of 240 frames read" in stream.getvalue()
