"""From a visit to its printed page: page set, consent asked, files written."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from tapmark.errors import NotThere, SheetError, TapmarkError
from tapmark.marks.days import long_day
from tapmark.marks.people import Slot, Visit
from tapmark.measures.free_marks import WHAT, values_of
from tapmark.measures.paths import path_values
from tapmark.measures.result import Measured
from tapmark.report.drawing.idea import pair_of
from tapmark.report.drawing.pose import step_poses
from tapmark.report.pages.athlete_page import athlete_page
from tapmark.report.pages.cards import card_html, filming_card, log_html, shot_log
from tapmark.report.pages.coach_page import coach_pages
from tapmark.report.pages.content import SheetContent
from tapmark.report.pages.html import athlete_html, coach_html
from tapmark.report.pages.pdf import Page, pdf_bytes
from tapmark.report.pages.photo import Photo, photo_of
from tapmark.services.changes import moved_items, since_last, since_lines
from tapmark.services.consent import KEPT_PHOTO, let_out, write_pair_out
from tapmark.services.pictures import kept_still
from tapmark.services.places import VisitPlace, criteria_of, visit_at
from tapmark.services.visits import (
    ShownStep,
    VisitReading,
    assessed,
    card_of,
    most_tapped,
    read_visit,
)
from tapmark.store.retention import drop_after_sheet
from tapmark.store.squad import Squad


def photo_for(place: VisitPlace, reading: VisitReading, step: ShownStep, today: date) -> Photo:
    """Return the photo of the moment in which the first thing is seen, the face covered.

    Raises NoConsent without the consents to print and keep it, or where the face cannot be
    covered; NotThere when nothing is shown on that page or its still was not kept.
    """
    let_out(KEPT_PHOTO, place.squad, (place.code,), today)
    instead = "Print the page with the line figure instead."
    frame, still = kept_still(place, step, _event(reading, step), instead)
    return photo_of(still, frame, step.run)


def _event(reading: VisitReading, step: ShownStep) -> str:
    for chosen in reading.assessment.slots[:1]:
        is_far = chosen.item.feet == step.run.far_side
        pair = pair_of(chosen.item.number, step_poses(step.run, step.i_step), is_far)
        if pair:
            return pair.event
    raise NotThere(
        f"The page of {reading.athlete.code} on {long_day(reading.visit.dated)} shows no side view "
        "of one thing, so there is no place for a photo. Print the page with the line figure "
        "instead."
    )


COPIES = ("athlete", "coach", "photo")
FILES = {"athlete": "sheet", "coach": "coach", "photo": "photo-sheet"}


def write_sheets(visits: Sequence[Path], paper: str, copy: str, today: date) -> Iterator[Path]:
    """Write the page of each visit that is named and yield its file, one after the other.

    A visit that cannot be printed does not keep the others from their pages: SheetError tells at
    the end which ones are missing and why. Raises NotThere at once for a path that is no visit.
    """
    places = [visit_at(path) for path in visits]
    missing: list[str] = []
    for place in places:
        try:
            yield write_sheet(place, paper, copy, today)
        except TapmarkError as trouble:
            if len(places) == 1:
                raise
            missing.append(f"{place.code} on {long_day(place.dated)}: {trouble}")
    if missing:
        told = "\n".join(missing)
        raise SheetError(f"Not written: {len(missing)} of {len(places)} sheets.\n{told}")


@dataclass(frozen=True)
class Printed:
    """A page that was written, and what of it belongs into its visit (see note_printed)."""

    path: Path
    copy: str
    code: str
    dated: str
    sheet_number: int
    slots: tuple[Slot, ...]


def write_sheet(place: VisitPlace, paper: str, copy: str, today: date) -> Path:
    """Write PDF and HTML of one visit into its folder, note it there, and return the PDF.

    See print_sheet.
    """
    printed = print_sheet(place, paper, copy, today)
    note_printed(place.squad, printed, place.squad.visit(place.code, place.dated), today)
    return printed.path


def print_sheet(place: VisitPlace, paper: str, copy: str, today: date) -> Printed:
    """Write PDF and HTML of one visit into its folder; nothing else of the squad is written.

    copy: "athlete" (one page), "coach" (the same and a page of numbers) or "photo" (the athlete's
    page with a photo in the place of the figure *you*).
    Raises NoConsent without consent to film (and to a photo and to keep it), NotThere without a
    still of the one thing, SheetError when the words do not fit.
    """
    squad, codes = place.squad, (place.code,)
    let_out("pdf", squad, codes, today)
    content = content_of(place, paper, today, copy)
    pdf = pdf_bytes(pages_of(content, copy), f"{place.code} {place.dated}")
    html = (coach_html if copy == "coach" else athlete_html)(content)
    path = place.folder / f"{FILES[copy]}.pdf"
    kinds = (KEPT_PHOTO, KEPT_PHOTO) if copy == "photo" else ("pdf", "html")
    write_pair_out(kinds, squad, codes, path, (pdf, html.encode()), today)
    made = content.visit
    return Printed(path, copy, made.code, made.dated, made.sheet_number, made.slots or ())


def note_printed(squad: Squad, printed: Printed, visit: Visit, today: date) -> Visit:
    """Write number and priorities of an athlete's page into its visit and return the visit.

    visit: as it stands now; whatever was changed while the page was being made stays.
    Stills that may not be kept go now. A coach's copy is noted nowhere. Raises CannotWrite.
    """
    if printed.copy == "coach":
        return visit
    slots = visit.slots if visit.slots is not None else printed.slots
    noted = replace(visit, sheet_number=visit.sheet_number or printed.sheet_number, slots=slots)
    squad.save_visit(noted)
    drop_after_sheet(squad, printed.code, printed.dated, today.isoformat())
    return noted


def pages_of(content: SheetContent, copy: str) -> list[Page]:
    """Return the pages of a copy, grey, 300 dpi."""
    numbers = coach_pages(content) if copy == "coach" else ()
    return [athlete_page(content), *numbers]


def content_of(place: VisitPlace, paper: str, today: date, copy: str = "athlete") -> SheetContent:
    """Read a visit and return what its page is made of; copy "photo" asks for a photo as well."""
    reading = read_visit(place, today)
    since = since_last(place.squad, reading)
    if moved_items(since):
        reading = assessed(reading, today, moved_items(since))
    step = most_tapped(reading.runs)
    photo = photo_for(place, reading, step, today) if copy == "photo" else None
    return SheetContent(
        athlete=reading.athlete,
        visit=numbered(reading),
        run=step.run,
        results=reading.results,
        assessment=reading.assessment,
        words=reading.criteria.words,
        i_step=step.i_step,
        runs=tuple(run for _, run in reading.runs),
        since=since_lines(since),
        paper=paper,
        photo=photo,
        has_list=place.squad.choices.list_for_adults,
        drawn=tuple(_drawn(place.squad, reading)),
    )


def _drawn(squad: Squad, reading: VisitReading) -> Iterator[str]:
    """Yield what the coach's own lines, angles and paths measure, run by run, each with its ±."""
    for name, run in reading.runs:
        if not (run.free_marks or run.paths):
            continue
        card = card_of(squad, [run])
        for mark in run.free_marks:
            told = "; ".join(
                f"{WHAT[each.key]} {each.with_unit}"
                for each in values_of(run, mark, card)
                if isinstance(each, Measured)
            )
            title = f"{name}, frame {mark.picture}: {mark.words or mark.kind}"
            yield f"{title}, {told}." if told else f"{title}."
        for i_step in range(len(run.steps)):
            for what, result in path_values(run, i_step, card):
                value = result.with_unit if isinstance(result, Measured) else result.reason
                yield f"{name}, step {i_step + 1}: {what}, {value.rstrip('.')}."


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


def write_filming_card(squad: Squad, today: date, paper: str = "a4") -> Path:
    """Write the filming card as PDF and HTML; return the PDF; raise CannotWrite."""
    words = criteria_of(squad).words
    pdf = pdf_bytes([filming_card(words, paper)], words.say("card.title"))
    path = squad.folder / f"filming-card-{today.isoformat()}.pdf"
    contents = pdf, card_html(words, paper).encode()
    return write_pair_out(("pdf", "html"), squad, (), path, contents, today)


def write_shot_log(squad: Squad, codes: Sequence[str], today: date, paper: str = "a4") -> Path:
    """Write the shot log with the codes of an evening in their order; return the PDF.

    Raises NoConsent for an athlete who may not be filmed, CannotWrite.
    """
    words = criteria_of(squad).words
    pdf = pdf_bytes(shot_log(words, codes, paper), words.say("log.title"))
    path = squad.folder / f"shot-log-{today.isoformat()}.pdf"
    contents = pdf, log_html(words, codes, paper).encode()
    return write_pair_out(("pdf", "html"), squad, codes, path, contents, today)
