"""Tables that open rightly in a spreadsheet and in a data frame.

With a decimal point the columns are parted by commas, with a decimal comma by semicolons, which is
what spreadsheets expect in either case. Text that a spreadsheet would take for a formula gets an
apostrophe in front.
"""

import csv
import io
from collections.abc import Iterable, Sequence

from tapmark.marks.run import KeyFrame, Step
from tapmark.store.consent import may_write
from tapmark.store.squad import Squad, all_runs

TAP_COLUMNS = (
    *("date", "code", "run", "step", "view", "near_side", "look", "event", "picture", "time_s"),
    *("slow_factor", "point", "certainty", "x_px", "y_px", "width_px", "height_px"),
    *("unsure_by_one", "blurred", "marked_by"),
)
_FORMULA = ("=", "+", "-", "@", "\t", "\r")

Cell = str | float | int | bool | None


def csv_bytes(header: Sequence[str], rows: Iterable[Sequence[Cell]], decimal: str = ".") -> bytes:
    """Return a table as the bytes of a CSV file in UTF-8.

    decimal: "." or ",". None is an empty cell; true and false are 1 and 0.
    """
    file = io.StringIO(newline="")
    writer = csv.writer(file, delimiter=";" if decimal == "," else ",", lineterminator="\r\n")
    writer.writerow(header)
    writer.writerows([_cell(value, decimal) for value in row] for row in rows)
    mark = "\ufeff" if decimal == "," else ""  # spreadsheets know UTF-8 by it
    return (mark + file.getvalue()).encode("utf-8", "replace")


def tap_rows(squad: Squad, code: str, today: str) -> list[tuple[Cell, ...]]:
    """Return every tap of an athlete as rows of TAP_COLUMNS; raise NoConsent without consent."""
    may_write("csv", squad.athlete(code), today)
    return [
        (
            *(dated, code, name, i_step + 1, run.view, run.near_side, look),
            *(frame.event, frame.picture, frame.time_s, run.set_up.slow_factor),
            *(tap.point, tap.certainty, *(tap.at_px or (None, None)), *run.source.size_px),
            *(frame.is_unsure, frame.is_blurred, run.marked_by),
        )
        for _, dated, name, run in all_runs(squad, None, (code,))
        for i_step, step in enumerate(run.steps)
        for look, frame in _looks(step)
        for tap in frame.taps
    ]


def _looks(step: Step) -> Iterable[tuple[str, KeyFrame]]:
    """Yield each look at a key frame: "first", "second", "third" or "later"; "beside" elsewhere."""
    for frame in step.key_frames:
        yield "first", frame
    for frame in step.second_look:
        same = [i for i, each in enumerate(step.looks(frame.event)) if each is frame]
        yield ("second", "third", "later")[min(same[0], 2)] if same else "beside", frame


def _cell(value: Cell, decimal: str) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(int(value))
    if isinstance(value, float):
        return repr(value).replace(".", decimal)
    text = str(value)
    return f"'{text}" if isinstance(value, str) and text.startswith(_FORMULA) else text
