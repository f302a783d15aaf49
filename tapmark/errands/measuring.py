"""Measures of runs or of a whole squad, as text, JSON or one tidy CSV; memory stays flat."""

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from tapmark.errands.places import VisitPlace, visit_at, visits_of
from tapmark.errands.visits import card_of
from tapmark.errors import NotThere
from tapmark.measures.catalogue import row
from tapmark.measures.compute import measure_run
from tapmark.measures.export import COLUMNS, as_dict, as_rows, to_csv
from tapmark.measures.result import Measured, Results
from tapmark.store.gates import may_write
from tapmark.store.squad import open_squad

WHOSE = ("code", "date", "run")


@dataclass(frozen=True)
class RunResults:
    """The results of one run and whose it is."""

    code: str
    dated: str
    name: str
    results: Results


def measure_paths(paths: Iterable[Path], today: date) -> Iterator[RunResults]:
    """Yield the results of every run that is named, one after the other.

    paths: run files, visit folders or squad folders.
    Raises NotThere, StoreError; GateClosed for an athlete whose numbers may not go out.
    """
    for path in paths:
        if not path.exists():
            raise NotThere(f"There is no “{path}”. Name a run file, a visit or a squad folder.")
        if path.is_dir() and _is_squad(path):
            for place in visits_of(open_squad(path)):
                yield from _of_visit(place, today)
        else:
            only = path.stem if path.is_file() else ""
            yield from _of_visit(visit_at(path), today, only)


def _is_squad(path: Path) -> bool:
    return (path / "squad.json").exists() or (path / "athletes").is_dir()


def _of_visit(place: VisitPlace, today: date, only: str = "") -> Iterator[RunResults]:
    squad = place.squad
    may_write("csv", squad.athlete(place.code), today.isoformat())
    for name in [only] if only else squad.run_names(place.code, place.dated):
        run = squad.load_run(place.code, place.dated, name)
        results = measure_run(run, card_of(squad, [run]))
        yield RunResults(place.code, place.dated, name, results)


def as_text(measured: Iterable[RunResults], comma: bool) -> Iterator[str]:
    """Yield lines a person can read."""
    for each in measured:
        yield f"{each.code} {each.dated} {each.name}"
        for result in each.results.rows.values():
            told = row(result.key)
            name = f"{told.name}, {result.leg}" if result.leg else told.name
            if isinstance(result, Measured):
                about = " ≈" if result.is_about else ""
                value = f"{result.value:.{result.digits}f} ± {result.plus_minus:.{result.digits}f}"
                value = value.replace("-", "−")
                line = f"  {name + about:34} {value:>14} {result.unit}"
                yield line.replace(".", ",") if comma else line
            else:
                yield f"  {name:34} {'–':>14} {result.reason}"
        yield from (f"  Look again: {check.words}" for check in each.results.checks)


def as_json(measured: Iterable[RunResults], comma: bool) -> Iterator[str]:
    """Yield one JSON document, run by run; numbers always have a decimal point."""
    yield "["
    before = ""
    for each in measured:
        whose = {"code": each.code, "date": each.dated, "run": each.name}
        yield before + json.dumps(whose | as_dict(each.results), ensure_ascii=False, indent=1)
        before = ","
    yield "]"


def as_csv(measured: Iterable[RunResults], comma: bool) -> Iterator[str]:
    """Yield CSV lines, one row a measure; comma = decimal comma and semicolons between cells."""
    columns, decimal = (*WHOSE, *COLUMNS), "," if comma else "."
    yield to_csv((), columns, decimal).rstrip("\r\n") + "\r"
    for each in measured:
        whose = dict(zip(WHOSE, (each.code, each.dated, each.name), strict=True))
        rows = (whose | cells for cells in as_rows(each.results, decimal))
        text = to_csv(rows, columns, decimal).split("\r\n", 1)[1]
        yield text.removesuffix("\r\n") + "\r"
