"""The photo of a page that was asked for with one: gate first, then the still that was kept."""

from datetime import date

from tapmark.clip.still_file import look_into, read_page
from tapmark.drawing.idea import pair_of
from tapmark.drawing.pose import step_poses
from tapmark.errands.gate import KEPT_PHOTO, let_out
from tapmark.errands.places import VisitPlace
from tapmark.errands.visits import VisitReading
from tapmark.errors import NotThere
from tapmark.marks.days import long_day
from tapmark.marks.run import Run
from tapmark.sheet.photo import Photo, photo_of
from tapmark.store.pictures import kept_stills


def photo_for(
    place: VisitPlace, reading: VisitReading, run: Run, i_step: int, today: date
) -> Photo:
    """Return the photo of the moment in which the first thing is seen, the face covered.

    Raises GateClosed without the consents to print and keep it, or where the face cannot be
    covered; NotThere when nothing is shown on that page or its still was not kept.
    """
    let_out(KEPT_PHOTO, place.squad, (place.code,), today)
    event = _event(reading, run, i_step)
    name = next((name for name, each in reading.runs if each is run), "")
    folder = place.squad.stills_folder(place.code, place.dated, name)
    path = kept_stills(folder).get((i_step, event, 0))
    frame = run.steps[i_step].key_frame(event)
    if path is None or frame is None:
        raise NotThere(
            f"The still of {event} of {place.code} on {long_day(place.dated)} was not kept. "
            "Print the page with the line figure instead."
        )
    return photo_of(read_page(look_into(path)[0]), frame, run)


def _event(reading: VisitReading, run: Run, i_step: int) -> str:
    for chosen in reading.assessment.slots[:1]:
        is_far = chosen.item.feet == run.far_side
        pair = pair_of(chosen.item.number, step_poses(run, i_step), is_far)
        if pair:
            return pair.event
    raise NotThere(
        f"The page of {reading.athlete.code} on {long_day(reading.visit.dated)} shows no side view "
        "of one thing, so there is no place for a photo. Print the page with the line figure "
        "instead."
    )
