"""The tidy table of a season: one row a measure and step, with its ±, band and word.

Every step stands on its own row, unpooled, so that a data frame can group as it likes; the sheet
pools the steps of a visit. An empty value has its reason beside it. Decimal sign, parting of cells
and what a spreadsheet would take for a formula: see store.tables_csv.
"""

from collections.abc import Iterator
from dataclasses import replace

from tapmark import __version__
from tapmark.checklist.criteria import Criteria
from tapmark.checklist.judge import judge_rows
from tapmark.checklist.verdict import RowVerdict
from tapmark.marks.run import Run
from tapmark.measures.card import Card
from tapmark.measures.catalogue import row
from tapmark.measures.compute import measure_run
from tapmark.measures.result import Measured, Results
from tapmark.store.tables_csv import Cell

COLUMNS = (
    "date",
    "code",
    "run",
    "step",
    "view",
    "context",
    "measure",
    "key",
    "leg",
    "side",
    "frame",
    "value",
    "unit",
    "plus_minus_95",
    "limit_low",
    "fine_low",
    "fine_high",
    "limit_high",
    "word",
    "fps",
    "flags",
    "reason",
    "leg_length_from",
    "marker",
    "tool_version",
)
"""date to run come from where the run lies; see rows_of_run for the rest."""


def rows_of_run(run: Run, card: Card, criteria: Criteria) -> Iterator[tuple[Cell, ...]]:
    """Yield the cells of COLUMNS from "step" on, for every row of every step.

    card: tap errors of whoever marked it. criteria: the bands of the day of filming.
    """
    for i_step, step in enumerate(run.steps):
        results = measure_run(replace(run, steps=(step,)), card, with_checks=False)
        for verdict in judge_rows(results, criteria):
            yield (
                i_step + 1,
                run.view,
                results.context,
                *_cells(verdict),
                *_around(verdict, results),
                run.marked_by,
                __version__,
            )


def _cells(verdict: RowVerdict) -> tuple[Cell, ...]:
    result, band = verdict.result, verdict.band
    told = row(result.key)
    frames = " → ".join(told.needs_of(result.leg))
    value, plus_minus = numbers_of(result) if isinstance(result, Measured) else (None, None)
    edges = (
        (band.limit_low, band.fine_low, band.fine_high, band.limit_high) if band else (None,) * 4
    )
    named = (told.name, result.key, result.leg, verdict.foot, frames)
    return (*named, value, told.unit, plus_minus, *edges, verdict.word)


def numbers_of(result: Measured) -> tuple[float, float]:
    """Return value and ± with one digit more than is printed; never a minus nothing."""
    digits = result.digits + 1
    return round(result.value, digits) + 0.0, round(result.plus_minus, digits)


def _around(verdict: RowVerdict, results: Results) -> tuple[Cell, ...]:
    result = verdict.result
    rate = round(results.rate_hz, 2) if results.rate_hz else None
    if not isinstance(result, Measured):
        return rate, "", result.reason, results.leg_source
    flags = (
        "about" if result.is_about else "",
        f"not graded: {result.not_graded}" if result.not_graded else "",
        f"capped: {result.capped}" if result.capped else "",
    )
    return rate, "; ".join(filter(None, flags)), "", results.leg_source
