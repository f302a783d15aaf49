"""A short fuzz of commands, paths and rights; the thousands are python -m tests.long.fuzz_lines."""

import sys

import pytest


@pytest.mark.skipif(sys.platform == "win32", reason="rights, pipes and devices as on Linux")
@pytest.mark.long
def test_every_command_line_ends_in_words_whatever_lies_on_the_disk(n: int = 60) -> None:
    from tests.long.fuzz_lines import fuzz_lines  # it limits its children by what POSIX has

    cases = list(fuzz_lines(n, seed=11))

    assert {case.code for case in cases} == {0, 1, 2}
    assert len({case.argv[0] for case in cases if case.argv}) > 8
    assert sum(bool(case.broken) for case in cases) > n / 2
