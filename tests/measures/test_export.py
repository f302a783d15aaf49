"""Results as a file: units in the keys, tidy rows, nothing a spreadsheet would run."""

import csv
import io
import json

import pytest

from tapmark.measures.advice import WHAT_HELPS, what_helps
from tapmark.measures.compute import measure_run
from tapmark.measures.export import COLUMNS, as_dict, as_rows, safe_cell, to_csv
from tapmark.measures.pool import measure_visit
from tests.measures.made import number, run_of, with_set_up, without

RUN = run_of()


def test_the_dictionary_survives_json_and_carries_units_in_its_keys() -> None:
    told = json.loads(json.dumps(as_dict(measure_run(RUN)), allow_nan=False))
    rows = {(each["key"], each["leg"]): each for each in told["measures"]}

    reach = rows["reach", "near"]
    assert reach["value_deg"] == pytest.approx(4.0)
    assert reach["foot"] == "right"
    assert reach["plus_minus_95_deg"] == pytest.approx(1.96 * reach["u_deg"])
    assert sum(part["u_deg"] ** 2 for part in reach["parts"]) == pytest.approx(reach["u_deg"] ** 2)
    assert rows["reach", "far"]["foot"] == "left"
    assert "value_ms" in rows["contact_time", "near"]
    assert "value_pct_leg" in rows["ankle_hip", "near"]
    assert rows["step_length", ""]["reason"] == "Needs two scale marks on the running line."
    assert told["rate_per_s"] == pytest.approx(240.0)


def test_the_other_side_of_a_visit_is_in_the_file_too() -> None:
    visit = measure_visit([RUN, RUN, run_of(sign=-1)])

    assert [other["near_side"] for other in as_dict(visit)["others"]] == ["left"]  # type: ignore[attr-defined]
    feet = {row["foot"] for row in as_rows(visit) if row["key"] == "reach" and row["leg"] == "near"}
    assert feet == {"right", "left"}


def test_csv_is_read_back_by_an_independent_reader_as_rfc_4180() -> None:
    text = to_csv(as_rows(measure_run(RUN)))

    assert text.count("\r\n") == text.count("\n")
    rows = list(csv.DictReader(io.StringIO(text, newline=""), strict=True))
    assert tuple(rows[0]) == COLUMNS
    assert len(rows) == len(measure_run(RUN).rows)
    reach = next(row for row in rows if row["key"] == "reach" and row["leg"] == "near")
    assert (reach["value"], reach["unit"]) == ("4.0", "°")
    assert float(reach["plus_minus_95"]) > 0


def test_a_decimal_comma_parts_cells_by_semicolons() -> None:
    text = to_csv(as_rows(measure_run(RUN), ","), decimal=",")

    rows = list(csv.DictReader(io.StringIO(text, newline=""), delimiter=";", strict=True))
    reach = next(row for row in rows if row["key"] == "reach" and row["leg"] == "near")
    assert reach["value"] == "4,0"


@pytest.mark.parametrize(
    "text", ["=1+1", "+cmd", "-cmd", "@sum(a1)", "\tx", "\rx", "-", "+", "--1"]
)
def test_cells_that_a_spreadsheet_would_run_are_made_safe(text: str) -> None:
    assert safe_cell(text) == f"'{text}"


@pytest.mark.parametrize("text", ["-12.5", "-12,5", "-7", "12", "K07", "", "a=b", "12 % leg"])
def test_numbers_and_plain_words_stay_as_they_are(text: str) -> None:
    assert safe_cell(text) == text


def test_quotes_and_line_ends_in_a_cell_come_back_whole() -> None:
    cells = dict.fromkeys(COLUMNS, "") | {"reason": 'He said "no",\r\nthen left.'}

    back = next(csv.DictReader(io.StringIO(to_csv([cells]), newline=""), strict=True))

    assert back["reason"] == cells["reason"]


def test_nothing_is_never_printed_as_minus_nothing() -> None:
    rows = as_rows(measure_run(with_set_up(RUN)))

    assert all(row["value"] not in ("-0.0", "-0", "-0.00") for row in rows)


def test_every_row_has_a_value_or_a_reason_never_both() -> None:
    for row in as_rows(measure_run(without(RUN, "toe-off", "near toe"))):
        assert bool(row["value"]) != bool(row["reason"]), row


def test_what_helps_most_follows_the_largest_part() -> None:
    coarse = measure_run(
        run_of(
            pictures={
                event: 25 + 7 * i
                for i, event in enumerate(
                    ("touchdown", "mid-stance", "toe-off", "peak knee lift", "opposite touchdown")
                )
            },
            hz=60.0,
        )
    )

    assert number(coarse, "reach", "near").mostly == "the frame"
    assert what_helps(number(coarse, "reach", "near")) == "film at 240 pictures a second"
    assert "another pass" in what_helps(number(measure_run(RUN), "thigh_toe_off", "near"))
    assert "trunk" not in WHAT_HELPS
