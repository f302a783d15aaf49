"""Results as plain dictionaries for JSON, and as tidy rows for a spreadsheet."""

import csv
import io
import re
from collections.abc import Iterable, Mapping
from itertools import chain

from tapmark.measures.advice import what_helps
from tapmark.measures.catalogue import row
from tapmark.measures.result import Measured, Result, Results

COLUMNS = (
    "measure",
    "key",
    "leg",
    "foot",
    "value",
    "unit",
    "plus_minus_95",
    "about",
    "steps",
    "mostly",
    "not_graded",
    "capped",
    "reason",
)
_STARTS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def as_dict(results: Results) -> dict[str, object]:
    """Return results for JSON: every key that holds a number ends in its unit."""
    return {
        "view": results.view,
        "context": results.context,
        "near_side": results.near_side,
        "rate_per_s": results.rate_hz,
        "effective_rate_per_s": results.effective_hz,
        "is_fast_enough_for_all_rows": results.is_fast,
        "n_steps": results.n_steps,
        "leg_length_from": results.leg_source,
        "ticks": dict(results.ticks),
        "guesses": list(results.guesses),
        "checks": [
            {
                "name": check.name,
                "words": check.words,
                "step": check.i_step + 1,
                "key_frame": check.event,
                "point": check.point,
            }
            for check in results.checks
        ],
        "measures": [_row_as_dict(results, result) for result in results.rows.values()],
        "others": [as_dict(other) for other in results.others],
    }


def as_rows(results: Results, decimal: str = ".") -> list[dict[str, str]]:
    """Return one dictionary of COLUMNS for each measure; others of the visit follow.

    decimal: "." or ",".
    """
    rows = [_row_as_cells(results, result, decimal) for result in results.rows.values()]
    return [*rows, *chain.from_iterable(as_rows(other, decimal) for other in results.others)]


def to_csv(
    rows: Iterable[Mapping[str, str]], columns: Iterable[str] = COLUMNS, decimal: str = "."
) -> str:
    """Return rows as CSV text (RFC 4180, lines end in CR LF), header first.

    With a decimal comma the cells are parted by semicolons, as spreadsheets of such countries
    expect. Write it as UTF-8 and without changing line ends. Cells that a spreadsheet would
    run as a formula are made safe.
    """
    names = list(columns)
    text = io.StringIO(newline="")
    writer = csv.writer(text, delimiter=";" if decimal == "," else ",", lineterminator="\r\n")
    writer.writerow(names)
    writer.writerows([safe_cell(each[name]) for name in names] for each in rows)
    return text.getvalue()


def safe_cell(text: str) -> str:
    """Return a cell that no spreadsheet runs as a formula; numbers stay numbers."""
    is_number = re.fullmatch(r"-?\d+([.,]\d+)?", text)
    return f"'{text}" if text.startswith(_STARTS_A_FORMULA) and not is_number else text


def _row_as_dict(results: Results, result: Result) -> dict[str, object]:
    told = row(result.key)
    named: dict[str, object] = {"key": result.key, "name": told.name, "leg": result.leg}
    named["foot"] = foot(results, result.leg)
    if not isinstance(result, Measured):
        return named | {"reason": result.reason}
    unit = told.unit_in_keys
    return named | {
        f"value_{unit}": result.value,
        f"plus_minus_95_{unit}": result.plus_minus,
        f"u_{unit}": result.u,
        f"u_set_up_{unit}": result.u_set_up,
        "parts": [{"of": words, f"u_{unit}": sd} for words, sd in result.parts],
        "helps_most": what_helps(result),
        "is_about": result.is_about,
        "not_graded": result.not_graded,
        "capped": result.capped,
        "n_steps": result.n_steps,
        "sign": told.sign,
        "formula": told.formula,
    }


def _row_as_cells(results: Results, result: Result, decimal: str) -> dict[str, str]:
    told = row(result.key)
    cells = dict.fromkeys(COLUMNS, "") | {
        "measure": told.name,
        "key": result.key,
        "leg": result.leg,
        "foot": foot(results, result.leg),
        "unit": told.unit,
    }
    if not isinstance(result, Measured):
        return cells | {"reason": result.reason}
    return cells | {
        "value": _number(result.value, result.digits + 1, decimal),
        "plus_minus_95": _number(result.plus_minus, result.digits + 1, decimal),
        "about": "about" if result.is_about else "",
        "steps": str(result.n_steps),
        "mostly": result.mostly,
        "not_graded": result.not_graded,
        "capped": result.capped,
    }


def foot(results: Results, leg: str) -> str:
    """Return "right" or "left" for a leg of the results, "" where no leg is meant.

    From behind or in front the foot that was marked is the near one.
    """
    if results.view != "side":
        return results.near_side
    other = "left" if results.near_side == "right" else "right"
    return {"near": results.near_side, "far": other}.get(leg, "")


def _number(value: float, digits: int, decimal: str) -> str:
    text = f"{value:.{digits}f}"
    is_zero = float(text) == 0.0
    return (text.lstrip("-") if is_zero else text).replace(".", decimal)
