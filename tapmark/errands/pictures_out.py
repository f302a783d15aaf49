"""Pictures that leave as PNG: the step line, marked stills, two stills side by side, a season.

The step line and the season are drawn. A still is a photo: it needs the consent to print one as
well, and its face is covered before it is written. Without that consent the step line is there.
"""

from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from pathlib import Path

from tapmark.checklist.words import Words
from tapmark.clip.still_file import look_into, read_page
from tapmark.drawing.trend import TrendPoint
from tapmark.errands.beside import RunPlace
from tapmark.errands.gate import PHOTO, file_name, let_out, write_out
from tapmark.errands.left_right import NO_DIFFERENCE, difference_points, difference_words
from tapmark.errands.one_measure import over_season, trend_visits, trend_words
from tapmark.errands.own_bands import criteria_of
from tapmark.errands.places import VisitPlace
from tapmark.errands.season import readings_of
from tapmark.errands.sheets import drawn_step, most_tapped
from tapmark.errands.visits import counted_runs, marked_runs, read_visit
from tapmark.errors import NotThere, StoreError
from tapmark.marks.days import long_day
from tapmark.marks.run import KeyFrame, Run
from tapmark.measures.catalogue import row
from tapmark.sheet.page_words import page_words
from tapmark.sheet.pictures import (
    Picture,
    Side,
    covered,
    face_disc,
    marked,
    png_bytes,
    side_by_side,
    step_picture,
)
from tapmark.sheet.trend_picture import trend_picture
from tapmark.store.pictures import PHOTO_PAGE, kept_stills
from tapmark.store.squad import Squad


def step_png(place: VisitPlace, folder: Path, today: date) -> Path:
    """Write the step line of a visit, drawn, no photo in it; return the file.

    Raises GateClosed, NotThere for a visit without a marked run.
    """
    let_out("png", place.squad, (place.code,), today)
    reading = read_visit(place, today)
    picture = step_picture(*drawn_step(reading), words=page_words(reading.criteria.words).step)
    return _write("png", place, folder, "step", png_bytes(picture), today)


def still_png(at: RunPlace, event: str, folder: Path, today: date) -> Path:
    """Write the still of a key frame with its taps and the face covered; return the file.

    Raises GateClosed without the consent to a photo, or when the face cannot be covered; NotThere
    when that still was not kept.
    """
    _let_photo_out(at, today)
    _, frame, still = _marked_still(at, event)
    picture = marked(still, frame, face_disc(frame))
    what = f"still-{event.replace(' ', '-')}"
    return _write(PHOTO, at.place, folder, what, png_bytes(picture), today)


def stills_beside_png(
    first: RunPlace, second: RunPlace, event: str, folder: Path, today: date
) -> Path:
    """Write the stills of one key frame of two runs, hip beside hip; return the file.

    Two dates of one athlete stand in the order of time. Two athletes both need the consent to a
    photo and to be shown to the group. Raises GateClosed and NotThere as still_png.
    """
    is_same = first.place.code == second.place.code
    if is_same and first.place.dated > second.place.dated:
        first, second = second, first
    both = (first, second)
    for at in both:
        _let_photo_out(at, today)
        if not is_same:
            let_out("side by side", at.place.squad, (at.place.code,), today)
    data = png_bytes(side_by_side([_side(at, event, is_same) for at in both]))
    codes = dict.fromkeys(at.place.code for at in both)
    name = file_name(codes, f"stills-{event.replace(' ', '-')}", second.place.dated, ".png")
    path = folder / f"{PHOTO_PAGE}{name}"
    return write_out(PHOTO, second.place.squad, [second.place.code], path, data, today)


def trend_png(squad: Squad, code: str, key: str, side: str, folder: Path, today: date) -> Path:
    """Write one measure over all visits as a drawn plot; return the file.

    side: "right", "left" or "" where no foot is meant. Raises GateClosed, NotThere when it was
    never measured.
    """
    let_out("png", squad, (code,), today)
    troubles: list[StoreError] = []
    readings = readings_of(squad, code, today, troubles)
    measure = over_season(readings, key, side) if readings else None
    if measure is None or not measure.points:
        raise NotThere(f"{code} has no visit with this measure. {' '.join(map(str, troubles))}")
    words = readings[-1].criteria.words
    foot = words.in_brackets(side)
    title = f"{code}, {measure.name}{foot}, in {row(key).shown_unit.strip()}"
    points = _dated(trend_visits(measure), words)
    picture = trend_picture(points, measure.band, title, trend_words(measure))
    name = file_name((code,), f"trend-{key}", today.isoformat(), ".png")
    return write_out("png", squad, (code,), folder / name, png_bytes(picture), today)


def sides_png(squad: Squad, code: str, key: str, folder: Path, today: date) -> Path:
    """Write left − right of one measure over all visits as a drawn plot; return the file.

    Raises GateClosed, NotThere when no visit can tell it: both ways have to be filmed.
    """
    let_out("png", squad, (code,), today)
    troubles: list[StoreError] = []
    readings = readings_of(squad, code, today, troubles)
    points = difference_points(readings, key)
    if not points:
        why = (*difference_words(readings, key)[1:], *map(str, troubles))
        raise NotThere(f"{code} has no visit that shows left against right here. {' '.join(why)}")
    words = readings[-1].criteria.words
    title = f"{code}, {words.row(key)}: left − right, in {row(key).shown_unit.strip()}"
    said = difference_words(readings, key)
    picture = trend_picture(_dated(points, words), NO_DIFFERENCE, title, said)
    path = folder / file_name((code,), f"sides-{key}", today.isoformat(), ".png")
    return write_out("png", squad, (code,), path, png_bytes(picture), today)


def _dated(points: Iterable[TrendPoint], words: Words) -> tuple[TrendPoint, ...]:
    """Return points whose dates are written as the pages write them."""
    printed = page_words(words)
    return tuple(replace(point, label=printed.iso_date(point.label)) for point in points)


def _let_photo_out(at: RunPlace, today: date) -> None:
    for kind in ("png", PHOTO):
        let_out(kind, at.place.squad, (at.place.code,), today)


def _side(at: RunPlace, event: str, is_same: bool) -> Side:
    run, frame, still = _marked_still(at, event)
    words = page_words(criteria_of(at.place.squad).words)
    label = words.iso_date(at.place.dated)
    if not is_same:
        label = f"{at.place.code}, {label}"
    return Side(covered(still, face_disc(frame)), frame, run, label)


def _marked_still(at: RunPlace, event: str) -> tuple[Run, KeyFrame, Picture]:
    """Return a run, its key frame and the still of it as it was kept."""
    place, (name, run, i_step) = at.place, _step_of(at)
    frame = run.steps[i_step].key_frame(event)
    folder = place.squad.stills_folder(place.code, place.dated, name)
    path = kept_stills(folder).get((i_step, event, 0))
    if frame is None or path is None:
        raise NotThere(
            f"There is no kept still of {event} of {place.code} on {long_day(place.dated)}. "
            "Show the step line instead."
        )
    return run, frame, read_page(look_into(path)[0])


def _step_of(at: RunPlace) -> tuple[str, Run, int]:
    """Return name, run and step; without a name, those with most taps."""
    squad, code, dated = at.place.squad, at.place.code, at.place.dated
    if at.name:
        run = squad.load_run(code, dated, at.name)
        return at.name, run, min(at.i_step, len(run.steps) - 1)
    visit = squad.visit(code, dated)
    runs = marked_runs(visit, counted_runs(squad, visit))
    run, i_step = most_tapped([run for _, run in runs if run.view == "side"] or [runs[0][1]])
    return next(name for name, each in runs if each is run), run, i_step


def _write(kind: str, place: VisitPlace, folder: Path, what: str, data: bytes, today: date) -> Path:
    name = file_name((place.code,), what, place.dated, ".png")
    name = f"{PHOTO_PAGE}{name}" if kind == PHOTO else name
    return write_out(kind, place.squad, (place.code,), folder / name, data, today)
