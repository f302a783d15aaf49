"""Tables for spreadsheets and data frames."""

import csv
import io
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapmark.errors import NoConsent
from tapmark.marks.edits import look_again
from tapmark.marks.run import Tap
from tapmark.store import consent
from tapmark.store.tables_csv import TAP_COLUMNS, csv_bytes, tap_rows
from tests.store import made


def read(data: bytes, delimiter: str) -> list[list[str]]:
    return list(csv.reader(io.StringIO(data.decode("utf-8-sig")), delimiter=delimiter))


def test_decimal_commas_come_with_semicolons_and_a_mark() -> None:
    data = csv_bytes(("a", "b", "c"), [(1.5, "x;y", None), (-2, True, -0.25)], ",")

    assert data.startswith(b"\xef\xbb\xbf")
    assert read(data, ";") == [["a", "b", "c"], ["1,5", "x;y", ""], ["-2", "1", "-0,25"]]


def test_decimal_points_come_with_commas() -> None:
    data = csv_bytes(("a", "b"), [(1.5, "x,y")])

    assert data == b'a,b\r\n1.5,"x,y"\r\n'


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@x", "\tx", "\rx"])
def test_no_text_is_a_formula(text: str) -> None:
    """The signs are those of the OWASP page on CSV injection."""
    assert read(csv_bytes(("a",), [(text,)]), ",")[1] == ["'" + text]


@given(st.lists(st.tuples(made.words, made.numbers), max_size=4), st.sampled_from(".,"))
def test_every_number_comes_back_exactly(rows: list[tuple[str, float]], decimal: str) -> None:
    data = csv_bytes(("word", "number"), rows, decimal)

    back = read(data, ";" if decimal == "," else ",")[1:]
    assert [float(cells[1].replace(",", ".")) for cells in back] == [row[1] for row in rows]


def test_every_tap_is_one_row(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad", ("K07",), n_visits=2)

    rows = tap_rows(squad, "K07", "2026-05-14")

    assert len(rows) == 64
    assert {len(row) for row in rows} == {len(TAP_COLUMNS)}
    first = dict(zip(TAP_COLUMNS, rows[0], strict=True))
    assert (first["date"], first["code"], first["run"], first["step"]) == (
        "2026-03-14",
        "K07",
        "run-1",
        1,
    )
    assert (first["event"], first["point"], first["x_px"]) == ("touchdown", "shoulder", 400.25)
    assert (first["near_side"], first["look"], first["marked_by"]) == ("right", "first", "AB")


def test_later_looks_say_which_they_are(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad", ("K07",))
    run = squad.load_run("K07", "2026-03-14", "run-1")
    for look, by in ((2, 0), (3, 0), (2, 1)):
        run = look_again(run, 0, "touchdown", Tap("hip", (400.0, 300.0)), look=look, by=by)
    squad.save_run("K07", "2026-03-14", "run-1", run)

    rows = [
        dict(zip(TAP_COLUMNS, row, strict=True)) for row in tap_rows(squad, "K07", "2026-05-14")
    ]
    again = [row for row in rows if row["look"] != "first"]
    first = next(row["picture"] for row in rows if row["event"] == "touchdown")
    assert [(row["look"], row["picture"] - first) for row in again] == [
        ("second", 0),
        ("third", 0),
        ("beside", 1),
    ]


def test_no_tap_goes_out_without_consent(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad", ("K07",))
    athlete = squad.athlete("K07")
    squad.save_athlete(replace(consent.withdraw(athlete, "film", "parent", "2026-05-01")))

    with pytest.raises(NoConsent, match="withdrawn on 1 May 2026"):
        tap_rows(squad, "K07", "2026-05-14")
