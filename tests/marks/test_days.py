"""Dates in words: the same in every sentence and on paper, and read back as they are written."""

import ast
import re
from datetime import date, timedelta
from pathlib import Path

import pytest

from tapmark.checklist.words import load_words
from tapmark.marks.days import iso_day, long_day, several, short_day, whose_run
from tapmark.report.pages.words import page_words
from tests.index import parsed

PACKAGE = Path(__file__).parents[2] / "tapmark"
YEAR = [(date(2028, 1, 1) + timedelta(days=n)).isoformat() for n in range(366)]


@pytest.mark.parametrize(
    ("dated", "long", "short"),
    [
        ("2026-11-04", "4 November 2026", "4 Nov 2026"),
        ("2026-05-14", "14 May 2026", "14 May 2026"),
        ("", "", ""),
        ("2026-02-30", "2026-02-30", "2026-02-30"),  # no date, so it stays as it is
    ],
)
def test_a_date_is_said_in_words(dated: str, long: str, short: str) -> None:
    assert (long, short) == (long_day(dated), short_day(dated))


def test_the_window_says_every_day_as_the_english_sheet_prints_it() -> None:
    printed = page_words(load_words("en"))
    assert [printed.iso_date(dated) for dated in YEAR] == [long_day(dated) for dated in YEAR]


def test_what_is_written_in_words_is_read_again() -> None:
    assert [iso_day(long_day(dated)) for dated in YEAR] == YEAR
    assert [iso_day(short_day(dated)) for dated in YEAR] == YEAR
    assert [iso_day(text) for text in ("14 mai 2026", "May 14 2026", "soon", "")] == [
        "14 mai 2026",
        "May 14 2026",
        "soon",
        "",
    ]


def test_a_run_is_named_as_a_person_names_it() -> None:
    assert whose_run("K07", "2026-05-14", "run-1") == "run 1 of K07 on 14 May 2026"


# No sentence may put a date or the name of a run's file into words as the disk has it.

RAW = re.compile(r"(^|\.)(dated|expires|withdrawn|goal_race|season_ends|backed_up|isoformat)$")
TOLD = re.compile(r"[a-z]{3,} |, | [a-z]{2,}")
LEFT_AS_THEY_ARE = {
    "store/squad.py",  # names of folders that were typed or lie there
    "app/squad/copies.py",  # the name of a file
    "store/shots.py",  # the name of a file
    "store/names.py",  # how to write a date
}


def raw_dates(tree: ast.AST) -> list[str]:
    """Return every sentence of a module that a date goes into as it lies on the disk."""
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            told = "".join(str(p.value) for p in node.values if isinstance(p, ast.Constant))
            filled = [p for p in node.values if isinstance(p, ast.FormattedValue)]
            is_raw = any(RAW.search(_name(p.value)) for p in filled)
            if is_raw and TOLD.search(told):
                found.append(ast.unparse(node))
    return found


def _name(value: ast.expr) -> str:
    return ast.unparse(value.func if isinstance(value, ast.Call) else value)


SENTENCES = [
    path
    for room in ("store", "services", "app", "marks")
    for path in sorted((PACKAGE / room).rglob("*.py"))
    if path.relative_to(PACKAGE).as_posix() not in LEFT_AS_THEY_ARE
]


def test_no_sentence_says_a_date_as_the_disk_has_it() -> None:
    found = {path.name: raw_dates(parsed(path)) for path in SENTENCES}
    assert {name: told for name, told in found.items() if told} == {}


@pytest.mark.parametrize(
    "source",
    ["f'The visit of {visit.dated} has no run.'", "f'asked on {answer.dated}: ask again'"],
)
def test_a_planted_date_is_found(source: str) -> None:
    assert raw_dates(ast.parse(source))


def test_one_is_never_several() -> None:
    assert (several(1, "visit"), several(2, "visit")) == ("1 visit", "2 visits")
    assert (several(1, "box", "boxes"), several(0, "box", "boxes")) == ("1 box", "0 boxes")
