"""Athletes from tables as spreadsheets write them."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapmark.errors import FileDamaged
from tapmark.marks.people import Athlete, Length
from tapmark.store.import_csv import Preview, import_athletes, preview_athletes
from tests.store import made

TODAY = "2026-05-14"
TABLE = '''Code,Year of birth,Event group,Leg length (cm),Height cm,Measured on,Mass kg,Notes
K07,2009,sprint,86.5,171,2026-04-02,55,left-handed
M12,1992,800 m,,180,,,"says ""tall"""
'''
EXPECTED = (
    Athlete(
        "K07",
        2009,
        "sprint",
        "left-handed",
        (Length("leg", 86.5, "2026-04-02"), Length("height", 171.0, "2026-04-02")),
        55.0,
    ),
    Athlete("M12", 1992, "800 m", 'says "tall"', (Length("height", 180.0, TODAY),)),
)


def preview(text: str, encoding: str = "utf-8") -> Preview:
    return preview_athletes(text.encode(encoding), (), TODAY)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("ends", ["\n", "\r\n", "\r"])
def test_every_usual_encoding_and_line_end_is_read(encoding: str, ends: str) -> None:
    found = preview(TABLE.replace("left-handed", "gaucher né").replace("\n", ends), encoding)

    assert found.athletes[0].notes == "gaucher né"
    assert found.athletes[1] == EXPECTED[1]
    assert found.problems == ()


def test_semicolons_come_with_decimal_commas() -> None:
    text = TABLE.replace(",", ";").replace("86.5", "86,5")

    assert preview(text).athletes == EXPECTED
    assert preview(text).delimiter == ";"
    assert preview(TABLE.replace(",", "\t")).athletes == EXPECTED


def test_columns_may_come_in_any_order_and_strange_ones_are_told() -> None:
    found = preview("shoe size,BIRTH YEAR,code\n42,2009,K07\n")

    assert found.athletes == (Athlete("K07", 2009),)
    assert found.ignored == ("shoe size",)


PROBLEMS = [
    ("Nonesuch,2009", "looks like a name"),
    ("K 07,2009", "cannot be a code"),
    (",2009", "cannot be a code"),
    ("con,2009", "Windows keeps that word"),
    ("A01,2009", "The code “A01” is in the squad already"),
    ("a01,2009", "The code “a01” is in the squad already"),
    ("K07,12.03.2009", "Only the year of birth is kept"),
    ("K07,2009-03-12", "Only the year of birth is kept"),
    ("K07,09", "is not a year of birth. Write it like 2010"),
    ("K07,2026", "is not a year of birth"),
    ("K07,=1+1", "is a formula"),
    ("@K07,2009", "is a formula"),
    ("K07,2009,1.71", "is not a leg in cm (40 to 130)"),
    ("K07,2009,nan", "is not a leg in cm"),
    ("K07,2009,86.5 cm", "is not a leg in cm"),
    ("K07,2009,86,14.5.26", "is not a date"),
    ("K07,2009,86,," + "x" * 1001, "is longer than 1000 letters"),
]


@pytest.mark.parametrize(("line", "words"), PROBLEMS)
def test_a_bad_line_is_told_with_its_number_and_the_others_are_taken(line: str, words: str) -> None:
    text = f"code,year of birth,leg cm,measured,notes\nB01,2001\n{line}\nB02,2002\n"

    found = preview_athletes(text.encode(), ("A01",), TODAY)

    assert [athlete.code for athlete in found.athletes] == ["B01", "B02"]
    (problem,) = found.problems
    assert problem.line == 3
    assert words in problem.words


def test_a_code_that_stands_twice_is_told_with_both_lines() -> None:
    found = preview("code\nK07\n\n\nk07\n")

    assert [problem.words for problem in found.problems] == ["The code “k07” is in line 2."]
    assert found.problems[0].line == 5


def test_lines_are_counted_as_an_editor_counts_them() -> None:
    found = preview('code,notes\nK07,"two\nlines"\nNonesuch,x\n')

    assert found.problems[0].line == 4


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "one of them “code”; it has nothing"),
        (b"name,age\nx,1\n", "it has “name”, “age”"),
        (b"\x81\x8d\x8f", "The file is no text"),
        (b"c\0o\0d\0e\0\n\0", "The file is no text"),
        (b"\xff\xfe\x00", "The file is no text"),
        (b"code\n" + b"K07\n" * 600, "more than 500 rows"),
        (b"code\n" + b"x" * 200_000, "cannot be read"),
        (b"x" * 2_000_001, "larger than 2 MB"),
    ],
)
def test_what_cannot_be_read_at_all_is_told(data: bytes, words: str) -> None:
    with pytest.raises(FileDamaged) as caught:
        preview_athletes(data, (), TODAY)

    assert words in str(caught.value)


def test_a_preview_writes_nothing_and_an_import_all_of_it(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad", ("A01",))
    before = made.contents(tmp_path)
    found = preview_athletes(TABLE.encode(), squad.codes(), TODAY)
    assert made.contents(tmp_path) == before

    assert import_athletes(squad, found) == 2

    assert squad.codes() == ("A01", "K07", "M12")
    assert squad.athletes()[1:] == EXPECTED


@given(st.binary(max_size=300) | st.text(max_size=200).map(lambda text: ("code\n" + text).encode()))
def test_any_bytes_give_a_preview_or_a_refusal(data: bytes) -> None:
    try:
        found = preview_athletes(data, (), TODAY)
    except FileDamaged:
        return
    assert all(problem.line > 1 for problem in found.problems)
    assert len({athlete.code.lower() for athlete in found.athletes}) == len(found.athletes)
