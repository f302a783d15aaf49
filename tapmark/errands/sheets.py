"""From a visit to its printed page: gates asked, page set, file written, stills let go."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

from PIL import Image

from tapmark.errands.changes import moved_items, since_last, since_lines
from tapmark.errands.places import VisitPlace, visit_at
from tapmark.errands.visits import VisitReading, read_visit
from tapmark.marks.people import Slot, Visit
from tapmark.marks.run import Run
from tapmark.sheet.athlete_page import athlete_page
from tapmark.sheet.content import SheetContent
from tapmark.sheet.pdf import write_pdf
from tapmark.store.gates import may_write
from tapmark.store.retention import drop_after_sheet

COPIES = ("athlete", "coach")


def write_sheets(visits: Sequence[Path], paper: str, copy: str, today: date) -> Iterator[Path]:
    """Write the page of each visit that is named and yield its file, one after the other."""
    for place in [visit_at(path) for path in visits]:
        yield write_sheet(place, paper, copy, today)


def write_sheet(place: VisitPlace, paper: str, copy: str, today: date) -> Path:
    """Write PDF and HTML of one visit into its folder and return the PDF.

    copy: "athlete" (one page) or "coach" (the same and a page of numbers).
    Raises GateClosed without consent to film, SheetError when the words do not fit.
    """
    content = content_of(place, paper, today)
    may_write("pdf", content.athlete, today.isoformat())
    name = "sheet" if copy == "athlete" else "coach"
    path = place.folder / f"{name}.pdf"
    write_pdf(pages_of(content, copy), path, title=f"{place.code} {place.dated}")
    if copy == "athlete":
        place.squad.save_visit(content.visit)
        drop_after_sheet(place.squad, place.code, place.dated, today.isoformat())
    return path


def pages_of(content: SheetContent, copy: str) -> list[Image.Image]:
    """Return the pages of a copy, grey, 300 dpi."""
    return [athlete_page(content)]


def content_of(place: VisitPlace, paper: str, today: date) -> SheetContent:
    """Read a visit and return what its page is made of."""
    reading = read_visit(place, today)
    since = since_last(place.squad, reading)
    if moved_items(since):
        reading = read_visit(place, today, moved_items(since))
    run, i_step = drawn_step(reading)
    return SheetContent(
        athlete=reading.athlete,
        visit=numbered(reading),
        run=run,
        results=reading.results,
        assessment=reading.assessment,
        words=reading.criteria.words,
        i_step=i_step,
        runs=tuple(run for _, run in reading.runs),
        since=since_lines(since),
        paper=paper,
    )


def drawn_step(reading: VisitReading) -> tuple[Run, int]:
    """Return the run and step with most taps: the one whose figures stand on the page."""
    sides = [run for _, run in reading.runs if run.view == "side"] or [reading.runs[0][1]]
    tapped = [
        (sum(len(frame.taps) for frame in step.key_frames), -i_run, -i_step)
        for i_run, run in enumerate(sides)
        for i_step, step in enumerate(run.steps)
    ]
    _, i_run, i_step = max(tapped)
    return sides[-i_run], -i_step


def numbered(reading: VisitReading) -> Visit:
    """Return the visit with its sheet's number and the priorities that stand on it.

    What was printed is what the athlete works on: it is kept even where the rule chose it.
    """
    before = max((visit.sheet_number for visit in reading.earlier), default=0)
    chosen = tuple(
        Slot(each.item.number, each.phrase.cue, reading.visit.dated)
        for each in reading.assessment.slots
    )
    slots = reading.visit.slots if reading.visit.slots is not None else chosen
    number = reading.visit.sheet_number or before + 1
    return replace(reading.visit, sheet_number=number, slots=slots)
