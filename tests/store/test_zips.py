"""Names that mean the same file on every system."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapmark.store.zips import is_portable


@pytest.mark.parametrize(
    "way", ["squad.json", "squad/athletes/K07/2026-05-14/run-1.json", "a b/ü.pdf", ".hidden"]
)
def test_ordinary_names_are_carried(way: str) -> None:
    assert is_portable(way)


@pytest.mark.parametrize(
    "way",
    [
        "", "/a", "a/", "a//b", "./a", "a/../b", "..", "a\\b", "C:/a", "a:b", "a?", "a*", 'a"',
        "a<b", "a|b", "a.", "a ", "nul", "x/CON.txt", "com1.json", "lpt0", "a\nb", "a\x00",
        "\u202ea",
        "a/" * 130 + "b", "x" * 201,
    ],
)  # fmt: skip
def test_names_that_some_system_cannot_carry_are_refused(way: str) -> None:
    """Win32 naming rules; POSIX 4.13 pathname resolution."""
    assert not is_portable(way)


@given(st.text(max_size=40))
def test_a_portable_name_never_leads_out(way: str) -> None:
    if is_portable(way):
        assert not set(way) & set('\\:*?"<>|\0')
        assert all(part not in ("", ".", "..") for part in way.split("/"))
