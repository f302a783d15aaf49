"""Codes, dates and run names that are safe as folder names everywhere."""

from pathlib import Path

import pytest

from tapmark.errors import AlreadyThere, NotThere, StoreError
from tapmark.store import names


@pytest.mark.parametrize("code", ["K07", "J", "AB-12", "a_1", "7b", "JM-2009", "LEN3"])
def test_initials_and_figures_are_codes(code: str) -> None:
    assert names.check_new_code(code, ()) == code


@pytest.mark.parametrize(
    "text",
    [
        "",
        " ",
        "K 07",
        "K.07",
        "../K07",
        "K07/",
        "-K07",
        "É7",
        "K07\n",
        "a" * 13,
        "K\0",
        "K:1",
        "１",
    ],
)
def test_what_cannot_be_a_folder_everywhere_is_no_code(text: str) -> None:
    with pytest.raises(StoreError, match="Use 1 to 12 plain letters and"):
        names.check_code(text)


@pytest.mark.parametrize("text", ["con", "CON", "Nul", "com1", "LPT9", "aux", "prn"])
def test_words_that_windows_keeps_are_no_codes(text: str) -> None:
    """Reserved names of the Win32 file namespace, as its documentation lists them."""
    with pytest.raises(StoreError, match="Windows keeps that word"):
        names.check_code(text)


def test_a_name_is_refused_as_a_code_with_a_way_out() -> None:
    with pytest.raises(StoreError, match=r"looks like a name\. Use initials or a code"):
        names.check_new_code("Nonesuch", ())


def test_codes_that_differ_by_case_alone_are_the_same() -> None:
    with pytest.raises(AlreadyThere, match="has the code “K07” already"):
        names.check_new_code("k07", ("A01", "K07"))


@pytest.mark.parametrize("text", ["2026-02-30", "20260514", "2026-5-14", "", "2026-05-14/..", "x"])
def test_what_is_no_date_is_refused(text: str) -> None:
    with pytest.raises(StoreError, match="Write it like 2026-05-14"):
        names.check_day(text)


@pytest.mark.parametrize("text", ["run-0", "run-", "run-01", "visit", "run-1.json", "../run-1", ""])
def test_what_is_no_run_name_is_refused(text: str) -> None:
    with pytest.raises(NotThere, match="is not the name of a run"):
        names.check_run_name(text)


def test_the_next_run_comes_after_the_highest_number() -> None:
    assert names.next_run_name(()) == "run-1"
    assert names.next_run_name(("run-2", "run-10", "visit", "run-3")) == "run-11"


def test_copies_set_aside_are_told_from_runs() -> None:
    assert names.is_set_aside(Path("run-1.damaged-2026-05-14-203015.json"))
    assert names.is_set_aside(Path("a/visit.elsewhere-2026-05-14-203015-2.json"))
    assert not names.is_set_aside(Path("run-1.json"))
    assert names.is_leftover(Path("run-1.json.lock"))
    assert names.is_leftover(Path("run-1.json.77.part"))
    assert not names.is_leftover(Path("run-1.json"))
