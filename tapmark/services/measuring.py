"""Measures of runs or of a whole squad as text, JSON or one tidy CSV; memory stays flat."""

import json
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from tapmark import __version__, disk
from tapmark.checklist.criteria import Criteria
from tapmark.checklist.judge import judge_rows
from tapmark.errors import NoConsent, NotThere, StoreError, TapmarkError
from tapmark.marks.run import Run
from tapmark.measures.card import Card
from tapmark.measures.catalogue import row
from tapmark.measures.compute import measure_run
from tapmark.measures.doubts import what_helps
from tapmark.measures.result import Measured, Result, Results
from tapmark.services.consent import let_out
from tapmark.services.places import VisitPlace, criteria_of, visit_at
from tapmark.services.visits import card_of
from tapmark.store.squad import Squad, Troubles, open_squad
from tapmark.store.tables_csv import Cell, csv_bytes

COLUMNS = (
    *("date", "code", "run", "step", "view", "context", "measure", "key", "leg", "side", "frame"),
    *("value", "unit", "plus_minus_95", "limit_low", "fine_low", "fine_high", "limit_high"),
    *("word", "fps", "flags", "reason", "leg_length_from", "marker", "tool_version"),
)
"""date to run come from where the run lies; see rows_of_run for the rest."""


def rows_of_run(run: Run, card: Card, criteria: Criteria) -> Iterator[tuple[Cell, ...]]:
    """Yield the cells of COLUMNS from "step" on, for every row of every step.

    card: tap errors of its marker. criteria: the bands of the day of filming.
    """
    for i_step, step in enumerate(run.steps):
        results = measure_run(replace(run, steps=(step,)), card, with_checks=False)
        for verdict in judge_rows(results, criteria):
            result, band, told = verdict.result, verdict.band, row(verdict.result.key)
            frames = " → ".join(told.needs_of(result.leg))
            value, plus_minus, flags, reason = _found(result)
            edges: tuple[float | None, ...] = (None,) * 4
            if band:
                edges = band.limit_low, band.fine_low, band.fine_high, band.limit_high
            rate = round(results.rate_hz, 2) if results.rate_hz else None
            yield (
                *(i_step + 1, run.view, results.context),
                *(told.name, result.key, result.leg, verdict.foot, frames),
                *(value, told.unit, plus_minus, *edges, verdict.word),
                *(rate, flags, reason, results.leg_source, run.marked_by, __version__),
            )


def _found(result: Result) -> tuple[float | None, float | None, str, str]:
    """Return value and ±, what is to be known about them, and why there are none."""
    if not isinstance(result, Measured):
        return None, None, "", result.reason
    flags = (
        "about" if result.is_about else "",
        f"not graded: {result.not_graded}" if result.not_graded else "",
        f"capped: {result.capped}" if result.capped else "",
    )
    return *numbers_of(result), "; ".join(filter(None, flags)), ""


def numbers_of(result: Measured) -> tuple[float, float]:
    """Return value and ± with one digit more than is printed; never a minus nothing."""
    digits = result.digits + 1
    return round(result.value, digits) + 0.0, round(result.plus_minus, digits)


@dataclass(frozen=True)
class MeasuredRun:
    """One run and whose it is; what is asked of it is worked out when it is asked."""

    place: VisitPlace
    name: str
    run: Run

    @property
    def results(self) -> Results:
        """Every row, the steps of the run pooled."""
        return measure_run(self.run, card_of(self.place.squad, [self.run]))

    @property
    def whose(self) -> dict[str, str]:
        """Code, date and name for the head of an entry."""
        return {"code": self.place.code, "date": self.place.dated, "run": self.name}


def measure_paths(
    paths: Iterable[Path], today: date, say: Callable[[str], None]
) -> Iterator[MeasuredRun]:
    """Yield every run that is named, one after the other.

    paths: run files, visit folders or squad folders.
    say:   told whose numbers of a squad stay in, and why: no consent, or a file that cannot be
           read; the others go out.
    Raises NotThere, StoreError; NoConsent for a visit that is named and may not go out, and for a
    squad in which nobody's may.
    """
    for path in paths:
        if not disk.exists(path):
            raise NotThere(f"There is no “{path}”. Name a run file, a visit or a squad folder.")
        is_squad = disk.exists(path / "squad.json") or disk.is_folder(path / "athletes")
        if disk.is_folder(path) and is_squad:
            yield from _squad_out(open_squad(path), today, say)
        else:
            place = visit_at(path)
            let_out("csv", place.squad, (place.code,), today)
            yield from runs_of(place, "" if disk.is_folder(path) else path.stem)


def _squad_out(squad: Squad, today: date, say: Callable[[str], None]) -> Iterator[MeasuredRun]:
    n_out, refused = 0, list[TapmarkError]()
    for code in squad.codes():
        try:
            if squad.athlete(code).is_archived:
                continue
            let_out("csv", squad, (code,), today)
            dates = squad.visit_dates(code)
        except (NoConsent, StoreError) as trouble:
            refused.append(trouble)
            say(str(trouble))
            continue
        n_out += 1
        for dated in dates:
            troubles: Troubles = []
            for name, run in squad.runs(code, dated, troubles):
                yield MeasuredRun(VisitPlace(squad, code, dated), name, run)
            for each in troubles:
                say(str(each))
    if refused and not n_out:
        if not any(isinstance(each, NoConsent) for each in refused):
            raise StoreError("No athlete's file of this squad can be read. Put a back-up in place.")
        raise NoConsent("Nobody's numbers may go out of this squad. Ask for the consents first.")


def runs_of(place: VisitPlace, only: str = "") -> Iterator[MeasuredRun]:
    """Yield the runs of a visit, where consent has been asked already; only: the one so called."""
    squad = place.squad
    for name in [only] if only else squad.run_names(place.code, place.dated):
        yield MeasuredRun(place, name, squad.load_run(place.code, place.dated, name))


def written(
    measured: Iterable[MeasuredRun], is_json: bool, is_csv: bool, comma: bool
) -> Iterator[str]:
    """Yield JSON, CSV or, without either, lines for a person."""
    write = as_json if is_json else as_csv if is_csv else as_text
    return write(measured, comma)


def as_text(measured: Iterable[MeasuredRun], comma: bool) -> Iterator[str]:
    """Yield lines a person can read."""
    for each in measured:
        yield " ".join(each.whose.values())
        results = each.results
        for result in results.rows.values():
            told = row(result.key)
            name = f"{told.name}, {result.leg}" if result.leg else told.name
            if isinstance(result, Measured):
                about = " ≈" if result.is_about else ""
                line = f"  {name + about:34} {result.shown:>14} {result.unit}"
                yield line.replace(".", ",") if comma else line
            else:
                yield f"  {name:34} {'–':>14} {result.reason}"
        yield from (f"  Look again: {check.words}" for check in results.checks)


def as_json(measured: Iterable[MeasuredRun], comma: bool) -> Iterator[str]:
    """Yield one JSON document, run by run; numbers always have a decimal point."""
    yield "["
    before = ""
    for each in measured:
        document = each.whose | as_dict(each.results)
        yield before + json.dumps(document, ensure_ascii=False, indent=1)
        before = ","
    yield "]"


def as_dict(results: Results) -> dict[str, object]:
    """Return results for JSON: every key that holds a number ends in its unit."""
    return {
        "view": results.view,
        "context": results.context,
        "near_side": results.near_side,
        "rate_per_s": results.rate_hz,
        "effective_rate_per_s": results.effective_hz,
        "is_fast_enough_for_all_rows": results.is_fast,
        "graded_as": results.graded_as,
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


def _row_as_dict(results: Results, result: Result) -> dict[str, object]:
    told = row(result.key)
    named: dict[str, object] = {"key": result.key, "name": told.name, "leg": result.leg}
    named["foot"] = results.foot(result.leg)
    if not isinstance(result, Measured):
        return named | {"reason": result.reason}
    unit = told.unit_in_keys
    return named | {
        f"value_{unit}": result.value,
        f"plus_minus_95_{unit}": result.plus_minus,
        f"u_{unit}": result.u,
        f"u_set_up_{unit}": result.u_set_up,
        f"bias_{unit}": result.bias,
        f"u_bias_{unit}": result.u_bias,
        f"u_corrected_{unit}": result.u_corrected,
        "parts": [{"of": words, f"u_{unit}": sd} for words, sd in result.parts],
        "helps_most": what_helps(result),
        "is_about": result.is_about,
        "not_graded": result.not_graded,
        "capped": result.capped,
        "n_steps": result.n_steps,
        "sign": told.sign,
        "formula": told.formula,
    }


def as_csv(measured: Iterable[MeasuredRun], comma: bool) -> Iterator[str]:
    """Yield CSV lines, one row a measure and step; comma = decimal comma, cells parted by ";"."""
    decimal = "," if comma else "."
    yield _lines(csv_bytes(COLUMNS, (), decimal))
    for each in measured:
        table = csv_bytes(COLUMNS, measured_rows(each), decimal)
        yield _lines(table).split("\n", 1)[1]


def measured_rows(each: MeasuredRun) -> Iterator[tuple[Cell, ...]]:
    """Yield the rows of the season's table for one run, see COLUMNS."""
    squad, dated = each.place.squad, each.place.dated
    criteria = criteria_of(squad, date.fromisoformat(dated))
    for cells in rows_of_run(each.run, card_of(squad, [each.run]), criteria):
        yield (dated, each.place.code, each.name, *cells)


def _lines(table: bytes) -> str:
    """Return a table as text without the last line's end: the printer ends lines."""
    return table.decode("utf-8-sig").removesuffix("\n")
