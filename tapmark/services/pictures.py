"""Pictures that leave as PNG, and two runs side by side."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from tapmark.checklist.verdict import Band
from tapmark.checklist.words import Words
from tapmark.clip.still_file import look_into, read_page
from tapmark.errors import NotThere
from tapmark.marks.days import long_day
from tapmark.marks.points import SIDE_EVENTS
from tapmark.marks.run import KeyFrame, Run
from tapmark.measures.catalogue import ROWS
from tapmark.measures.catalogue import row as catalogue_row
from tapmark.measures.change import DIFFERS, MOVED, Limits
from tapmark.measures.change import compare as compare_rows
from tapmark.measures.free_marks import label_of, values_of
from tapmark.measures.result import Key, Measured, Results
from tapmark.report.drawing.pose import step_poses
from tapmark.report.drawing.trend import TrendPoint
from tapmark.report.pages.content import CompareContent, CompareRow, Half
from tapmark.report.pages.pictures import (
    Picture,
    Side,
    covered,
    face_disc,
    marked,
    png_bytes,
    side_by_side,
    step_picture,
)
from tapmark.report.pages.plots import trend_picture
from tapmark.report.pages.words import page_words
from tapmark.services.changes import since, since_lines
from tapmark.services.consent import PHOTO, file_name, let_out, write_out
from tapmark.services.places import VisitPlace, criteria_of
from tapmark.services.season import (
    NO_DIFFERENCE,
    difference_points,
    difference_words,
    over_season,
    readings_of,
    trend_visits,
    trend_words,
)
from tapmark.services.visits import (
    ShownStep,
    VisitReading,
    card_of,
    counted_runs,
    marked_runs,
    most_alike,
    most_tapped,
    read_visit,
)
from tapmark.store.pictures import PHOTO_PAGE, kept_stills
from tapmark.store.squad import Squad, Troubles

TWO_PEOPLE = "different, not better"
NO_STILL = "Show the step line instead."


@dataclass(frozen=True)
class RunPlace:
    """A run of a visit; without a name, the one with most taps."""

    place: VisitPlace
    name: str = ""
    i_step: int = 0


def compare(first: RunPlace, second: RunPlace, today: date) -> CompareContent:
    """Return two runs ready to be drawn; two dates of one athlete stand in the order of time.

    Both may belong to squads in different folders. Raises NotThere for a run without figures,
    StoreError for files that cannot be read.
    """
    is_same = first.place.code == second.place.code
    first, second = _in_time(first, second)
    before, after = read_visit(first.place, today), read_visit(second.place, today)
    was, now, like = most_alike(before, after)
    one, other = _half(first, was.run), _half(second, now.run)
    is_one_visit = is_same and first.place.dated == second.place.dated
    tested: dict[Key, str] = {}  # (row, foot) -> word of the rows that were tested
    became = since(before, after) if is_same and not is_one_visit else ()
    if is_same and not is_one_visit:
        for change in (item.change for item in became if item.change):
            feet = (row.foot for row in after.assessment.rows if row.result == change.after)
            tested[change.after.key, next(feet, "")] = change.word
    elif not like.refused:
        bands = {(row.result.key, row.result.leg): row.band for row in after.assessment.rows}
        tested = _told_apart(was.results, now.results, bands)
    return CompareContent(
        first=one,
        second=other,
        events=tuple(e for e in SIDE_EVENTS if e in one.poses and e in other.poses),
        rows=tuple(_rows(was.results, now.results, tested, after)),
        words=after.criteria.words,
        is_same=is_same,
        refused=(*like.refused, *like.refused_lengths) if is_same else (),
        labels=like.labels if is_same else (TWO_PEOPLE,),
        since=since_lines(became),
    )


def compare_out(
    content: CompareContent,
    first: RunPlace,
    second: RunPlace,
    folder: Path,
    png: bytes,
    today: date,
) -> Path:
    """Write a picture of two runs and return its file.

    Raises NoConsent: two athletes both have to agree to be shown to the group; one athlete's own
    two dates need no more than any picture.
    """
    kind = "png" if content.is_same else "side by side"
    codes = (content.first.code, content.second.code)
    name = file_name(dict.fromkeys(codes), "compare", content.second.dated, ".png")
    for place in (first.place, second.place):
        let_out(kind, place.squad, (place.code,), today)
    return write_out(kind, second.place.squad, (second.place.code,), folder / name, png, today)


def _in_time(first: RunPlace, second: RunPlace) -> tuple[RunPlace, RunPlace]:
    """Return two dates of one athlete in the order of time, two athletes as they are."""
    one, other = first.place, second.place
    is_later = one.code == other.code and one.dated > other.dated
    return (second, first) if is_later else (first, second)


def _half(at: RunPlace, usual: Run) -> Half:
    step = _step_of(at) if at.name else most_tapped([("", usual)])
    run = step.run
    poses = step_poses(run, step.i_step) if run.view == "side" else {}
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
    )


def _rows(
    first: Results, second: Results, tested: Mapping[Key, str], after: VisitReading
) -> Iterator[CompareRow]:
    """Yield the rows of the near leg, and of the far one where a priority is tested there.

    A row that is not tested has no word.
    """
    words = after.criteria.words
    bands = {(row.result.key, row.result.leg): row.band for row in after.assessment.rows}
    for row, leg in ((each, leg) for each in ROWS for leg in each.legs):
        side, is_near = second.foot(leg), leg == row.legs[0]
        results = (each.row(row.key, leg) for each in (first, second))
        was, now = (each if isinstance(each, Measured) else None for each in results)
        if (was or now) and (is_near or (row.key, side) in tested):
            yield CompareRow(
                words.row(row.key),
                _shown(was),
                _shown(now),
                row.unit,
                tested.get((row.key, side), ""),
                row.key,
                leg,
                bands.get((row.key, leg)),
                (was, now),
                "" if is_near else side,
            )


def _told_apart(
    first: Results, second: Results, bands: Mapping[Key, Band | None]
) -> dict[Key, str]:
    """Return (row, foot) -> differs, same or can't tell, by the rules of a change of visits."""
    told = {}
    for row in ROWS:
        leg = row.legs[0]
        was, now = first.row(row.key, leg), second.row(row.key, leg)
        if isinstance(was, Measured) and isinstance(now, Measured):
            change = compare_rows(was, now, bands.get((row.key, leg)) or Limits())
            word = DIFFERS if change.word == MOVED else change.word
            told[row.key, second.foot(leg)] = word
    return told


def _shown(result: Measured | None) -> str:
    return f"{'≈ ' if result.is_about else ''}{result.shown}" if result else "–"


def step_png(place: VisitPlace, folder: Path, today: date) -> Path:
    """Write the step line of a visit, drawn, no photo in it; return the file.

    Raises NoConsent, NotThere for a visit without a marked run.
    """
    let_out("png", place.squad, (place.code,), today)
    reading = read_visit(place, today)
    step, words = most_tapped(reading.runs), page_words(reading.criteria.words).step
    picture = step_picture(step.run, step.i_step, words=words)
    return _write("png", place, folder, "step", png_bytes(picture), today)


def still_png(at: RunPlace, event: str, folder: Path, today: date) -> Path:
    """Write the still of a key frame with its taps and the face covered; return the file.

    Raises NoConsent without the consent to a photo, or when the face cannot be covered; NotThere
    when that still was not kept.
    """
    _let_photo_out(at, today)
    step = _step_of(at)
    run, (frame, still) = step.run, kept_still(at.place, step, event, NO_STILL)
    card = card_of(at.place.squad, [run])
    here = (mark for mark in run.free_marks if mark.picture == frame.picture)
    own = {mark: label_of(values_of(run, mark, card)) for mark in here}
    picture = marked(still, frame, face_disc(frame), own)
    what = f"still-{event.replace(' ', '-')}"
    return _write(PHOTO, at.place, folder, what, png_bytes(picture), today)


def two_stills_png(
    first: RunPlace, second: RunPlace, event: str, folder: Path, today: date
) -> Path:
    """Write the stills of one key frame of two runs, hip beside hip; return the file.

    Two dates of one athlete stand in the order of time. Two athletes both need the consent to a
    photo and to be shown to the group. Raises NoConsent and NotThere as still_png.
    """
    is_same = first.place.code == second.place.code
    both = first, second = _in_time(first, second)
    for at in both:
        _let_photo_out(at, today)
        if not is_same:
            let_out("side by side", at.place.squad, (at.place.code,), today)
    sides = []
    for at in both:
        step = _step_of(at)
        frame, still = kept_still(at.place, step, event, NO_STILL)
        label = page_words(criteria_of(at.place.squad).words).iso_date(at.place.dated)
        label = label if is_same else f"{at.place.code}, {label}"
        sides.append(Side(covered(still, face_disc(frame)), frame, step.run, label))
    data = png_bytes(side_by_side(sides))
    codes = dict.fromkeys(at.place.code for at in both)
    name = file_name(codes, f"stills-{event.replace(' ', '-')}", second.place.dated, ".png")
    path = folder / f"{PHOTO_PAGE}{name}"
    return write_out(PHOTO, second.place.squad, [second.place.code], path, data, today)


def trend_png(squad: Squad, code: str, key: str, side: str, folder: Path, today: date) -> Path:
    """Write one measure over all visits as a drawn plot; return the file.

    side: "right", "left" or "" where no foot is meant. Raises NoConsent, NotThere when it was
    never measured.
    """
    let_out("png", squad, (code,), today)
    troubles: Troubles = []
    readings = readings_of(squad, code, today, troubles)
    measure = over_season(readings, key, side) if readings else None
    if measure is None or not measure.points:
        raise NotThere(f"{code} has no visit with this measure. {' '.join(map(str, troubles))}")
    words = readings[-1].criteria.words
    title = f"{code}, {measure.name}{words.in_brackets(side)}"
    points, said = trend_visits(measure), trend_words(measure)
    data = _plotted(points, measure.band, title, key, said, words)
    name = file_name((code,), f"trend-{key}", today.isoformat(), ".png")
    return write_out("png", squad, (code,), folder / name, data, today)


def sides_png(squad: Squad, code: str, key: str, folder: Path, today: date) -> Path:
    """Write left − right of one measure over all visits as a drawn plot; return the file.

    Raises NoConsent, NotThere when no visit can tell it: both ways have to be filmed.
    """
    let_out("png", squad, (code,), today)
    troubles: Troubles = []
    readings = readings_of(squad, code, today, troubles)
    points = difference_points(readings, key)
    if not points:
        why = (*difference_words(readings, key)[1:], *map(str, troubles))
        raise NotThere(f"{code} has no visit that shows left against right here. {' '.join(why)}")
    words = readings[-1].criteria.words
    title, said = f"{code}, {words.row(key)}: left − right", difference_words(readings, key)
    data = _plotted(points, NO_DIFFERENCE, title, key, said, words)
    path = folder / file_name((code,), f"sides-{key}", today.isoformat(), ".png")
    return write_out("png", squad, (code,), path, data, today)


def _plotted(
    points: Iterable[TrendPoint],
    band: Band | None,
    title: str,
    key: str,
    said: Sequence[str],
    words: Words,
) -> bytes:
    """Return a plot as PNG, its dates written as the pages write them."""
    printed, unit = page_words(words), catalogue_row(key).shown_unit.strip()
    dated = [replace(point, label=printed.iso_date(point.label)) for point in points]
    return png_bytes(trend_picture(dated, band, f"{title}, in {unit}", said))


def _let_photo_out(at: RunPlace, today: date) -> None:
    for kind in ("png", PHOTO):
        let_out(kind, at.place.squad, (at.place.code,), today)


def kept_still(
    place: VisitPlace, step: ShownStep, event: str, instead: str
) -> tuple[KeyFrame, Picture]:
    """Return a key frame and the still of it as it was kept.

    instead: what to do where it was not, as a sentence. Raises NotThere.
    """
    frame = next((frame for frame in step.frames if frame.event == event), None)
    folder = place.squad.stills_folder(place.code, place.dated, step.name)
    path = kept_stills(folder).get((step.i_step, event, 0))
    if frame is None or path is None:
        raise NotThere(
            f"The still of {event} of {place.code} on {long_day(place.dated)} was not kept. "
            f"{instead}"
        )
    return frame, read_page(look_into(path)[0])


def _step_of(at: RunPlace) -> ShownStep:
    """Return the step that is meant; without a run's name, the one with most taps."""
    squad, code, dated = at.place.squad, at.place.code, at.place.dated
    if at.name:
        run = squad.load_run(code, dated, at.name)
        return ShownStep(at.name, run, min(at.i_step, len(run.steps) - 1))
    visit = squad.visit(code, dated)
    return most_tapped(marked_runs(visit, counted_runs(squad, visit)))


def _write(kind: str, place: VisitPlace, folder: Path, what: str, data: bytes, today: date) -> Path:
    name = file_name((place.code,), what, place.dated, ".png")
    name = f"{PHOTO_PAGE}{name}" if kind == PHOTO else name
    return write_out(kind, place.squad, (place.code,), folder / name, data, today)
