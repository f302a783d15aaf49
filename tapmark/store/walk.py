"""Every visit and every run of a squad, one after the other."""

from collections.abc import Iterator

from tapmark.marks.run import Run
from tapmark.store.squad import Squad, Troubles


def all_runs(squad: Squad, troubles: Troubles | None = None) -> Iterator[tuple[str, str, str, Run]]:
    """Yield (code, date, name, run), by code, date and number; troubles as in Squad."""
    for code in squad.codes():
        for dated in squad.visit_dates(code):
            for name, run in squad.runs(code, dated, troubles):
                yield code, dated, name, run
