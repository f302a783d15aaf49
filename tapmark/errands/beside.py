"""Two runs beside each other: on screen for the coach; what leaves asks both athletes' consent."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from tapmark.checklist.words import Words
from tapmark.drawing.pose import step_poses
from tapmark.errands.changes import since
from tapmark.errands.gate import file_name, let_out, write_out
from tapmark.errands.passes import most_alike
from tapmark.errands.places import VisitPlace
from tapmark.errands.sheets import most_tapped
from tapmark.errands.visits import VisitReading, read_visit
from tapmark.errors import NotThere
from tapmark.marks.days import long_day
from tapmark.marks.points import SIDE_EVENTS
from tapmark.marks.run import Run
from tapmark.measures.catalogue import ROWS
from tapmark.measures.export import foot
from tapmark.measures.result import Key, Measured, Result, Results
from tapmark.sheet.beside_content import BesideContent, BesideRow, Half

TWO_PEOPLE = "different, not better"


@dataclass(frozen=True)
class RunPlace:
    """A run of a visit; without a name, the one with most taps."""

    place: VisitPlace
    name: str = ""
    i_step: int = 0


def beside(first: RunPlace, second: RunPlace, today: date) -> BesideContent:
    """Return two runs ready to be drawn; two dates of one athlete stand in the order of time.

    Both may belong to squads in different folders. Raises NotThere for a run without figures,
    StoreError for files that cannot be read.
    """
    is_same = first.place.code == second.place.code
    if is_same and first.place.dated > second.place.dated:
        first, second = second, first
    before, after = read_visit(first.place, today), read_visit(second.place, today)
    was, now, like = most_alike(before, after)
    one, other = _half(first, was.run), _half(second, now.run)
    tested = _tested(before, after) if is_same else {}
    return BesideContent(
        first=one,
        second=other,
        events=tuple(e for e in SIDE_EVENTS if e in one.poses and e in other.poses),
        rows=tuple(_rows(was.results, now.results, tested, after.criteria.words)),
        words=after.criteria.words,
        is_same=is_same,
        refused=(*like.refused, *like.refused_lengths) if is_same else (),
        labels=like.labels if is_same else (TWO_PEOPLE,),
    )


def beside_out(
    content: BesideContent, first: RunPlace, second: RunPlace, folder: Path, png: bytes, today: date
) -> Path:
    """Write a picture of two runs and return its file.

    Raises GateClosed: two athletes both have to agree to be shown to the group; one athlete's own
    two dates need no more than any picture.
    """
    kind = "png" if content.is_same else "side by side"
    codes = (content.first.code, content.second.code)
    name = file_name(dict.fromkeys(codes), "beside", content.second.dated, ".png")
    for place in (first.place, second.place):
        let_out(kind, place.squad, (place.code,), today)
    return write_out(kind, second.place.squad, (second.place.code,), folder / name, png, today)


def _half(at: RunPlace, usual: Run) -> Half:
    run, i_step = _run_of(at, usual)
    poses = step_poses(run, i_step) if run.view == "side" else {}
    if not poses:
        raise NotThere(
            f"{at.place.code} on {long_day(at.place.dated)} has no step that can be drawn. "
            "Mark hip, knee and ankle on one key frame."
        )
    answers = run.set_up
    effort = f"effort {answers.effort} of 10" if answers.effort else ""
    facts = (answers.context, answers.zone, effort, answers.shoes, answers.surface, answers.wind)
    return Half(
        code=at.place.code,
        dated=at.place.dated,
        poses=poses,
        side=run.near_side,
        facts=tuple(filter(None, facts)),
        was_turned=run.travel_sign < 0,
    )


def _run_of(at: RunPlace, usual: Run) -> tuple[Run, int]:
    if not at.name:
        return most_tapped([usual])
    run = at.place.squad.load_run(at.place.code, at.place.dated, at.name)
    return run, min(at.i_step, len(run.steps) - 1)


def _rows(
    first: Results, second: Results, tested: Mapping[Key, str], words: Words
) -> Iterator[BesideRow]:
    """Yield the rows of the near leg; a word only where a priority is tested."""
    for row in ROWS:
        leg = row.legs[0]
        was, now = first.row(row.key, leg), second.row(row.key, leg)
        if isinstance(was, Measured) or isinstance(now, Measured):
            word = tested.get((row.key, foot(second, leg)), "")
            yield BesideRow(words.row(row.key), _shown(was), _shown(now), row.unit, word)


def _tested(before: VisitReading, after: VisitReading) -> Mapping[Key, str]:
    """Return (row, foot) -> word of the rows on which current priorities were tested."""
    changes = (item.change for item in since(before, after))
    return {
        (change.after.key, _foot_of(after, change.after)): change.word
        for change in changes
        if change
    }


def _foot_of(reading: VisitReading, measured: Measured) -> str:
    found = (row.foot for row in reading.assessment.rows if row.result == measured)
    return next(found, "")


def _shown(result: Result) -> str:
    if not isinstance(result, Measured):
        return "–"
    about = "≈ " if result.is_about else ""
    value = f"{round(result.value, result.digits) + 0.0:.{result.digits}f}"
    return f"{about}{value} ± {result.plus_minus:.{result.digits}f}".replace("-", "−")
