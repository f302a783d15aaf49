"""A training note for a physio: what was filmed, every number with its ±, and no opinion.

No band, no verdict word, no drill and no cue stands in it: what the numbers mean is for the reader.
"""

from collections.abc import Iterator
from datetime import date

from tapmark.errands.passes import alike, all_results, in_both
from tapmark.errands.places import VisitPlace
from tapmark.errands.visits import VisitReading, read_visit
from tapmark.measures.catalogue import row
from tapmark.measures.change import Edges, compare
from tapmark.measures.export import foot
from tapmark.measures.result import Measured, Results
from tapmark.store.season import length_on

WIDE = 43
ABOUT = (
    "Numbers from points marked by hand on video, each with its 95 % ±.",
    "No diagnosis and no advice. “≈”: leans on a guess or a hidden point.",
)


def note_lines(place: VisitPlace, today: date, decimal: str = ".") -> Iterator[str]:
    """Yield the note about one visit, and the differences to the visit before it.

    Raises StoreError for files that cannot be read.
    """
    reading = read_visit(place, today)
    yield from _head(reading, today, decimal)
    for results in all_results(reading.results):
        yield from _numbers(results, decimal)
    if reading.earlier:
        before = VisitPlace(place.squad, place.code, reading.earlier[-1].dated)
        if place.squad.run_names(before.code, before.dated):
            yield from _differences(read_visit(before, today), reading, decimal)


def _head(reading: VisitReading, today: date, decimal: str) -> Iterator[str]:
    athlete, dated = reading.athlete, reading.visit.dated
    born = f"born {athlete.birth_year}" if athlete.birth_year else "year of birth not known"
    leg = length_on(athlete, "leg", dated)
    yield "Training note"
    yield ", ".join(filter(None, (f"Athlete {athlete.code}", born, athlete.group)))
    yield f"Filmed on {dated}, written on {today.isoformat()}"
    yield from ABOUT
    if leg:
        length = f"{leg.cm:.1f}".replace(".", decimal)
        yield f"Leg length {length} cm, measured on {leg.dated or 'a day not noted'}"
    yield f"Pain on that day, as asked by the coach: {_pain(reading)}"
    yield from dict.fromkeys(_set_up(run.set_up.__dict__) for _, run in reading.runs)
    markers = sorted({run.marked_by or "not noted" for _, run in reading.runs})
    yield f"Marked by {', '.join(markers)}"


def _pain(reading: VisitReading) -> str:
    answers = dict.fromkeys(run.set_up.pain for _, run in reading.runs)
    return ", ".join(answers)


def _set_up(answers: dict[str, object]) -> str:
    effort = f"effort {answers['effort']} of 10" if answers["effort"] else ""
    told = (answers[key] for key in ("context", "zone", "shoes", "surface", "wind", "camera"))
    return "Run: " + ", ".join(str(each) for each in (*told, effort) if each)


def _numbers(results: Results, decimal: str) -> Iterator[str]:
    rate = f"{results.rate_hz:.0f} pictures a second" if results.rate_hz else "rate not known"
    near = "near the camera" if results.view == "side" else "marked"
    yield ""
    yield (
        f"{results.view.capitalize()} view, {results.near_side} leg {near}, "
        f"steps: {results.n_steps}, {rate}"
    )
    for result in results.rows.values():
        if isinstance(result, Measured):
            told = row(result.key)
            value = _shown(result.value, result.plus_minus, result.digits, decimal)
            yield f"  {_named(results, result):{WIDE}} {value:>14} {told.unit:6} {told.sign}"


def _differences(before: VisitReading, after: VisitReading, decimal: str) -> Iterator[str]:
    yield ""
    yield f"Difference to {before.visit.dated}; ± is what marking and steps alone can make of it"
    like = alike(before, after)
    yield from (f"  Not the same conditions. {each}" for each in like.refused)
    yield from (f"  Lengths differ in kind. {each}" for each in like.refused_lengths)
    yield from (f"  Note: {each}" for each in like.labels)
    for results, was, now in in_both(before, after):
        if not like.why_not(now.unit):
            change = compare(was, now, Edges())
            value = _shown(change.difference, change.smallest, now.digits, decimal, "+")
            yield f"  {_named(results, now):{WIDE}} {value:>14} {row(now.key).unit}"


def _named(results: Results, result: Measured) -> str:
    side = foot(results, result.leg)
    about = " ≈" if result.is_about else ""
    return f"{row(result.key).name}{f', {side}' if side else ''}{about}"


def _shown(value: float, plus_minus: float, digits: int, decimal: str, sign: str = "") -> str:
    text = f"{round(value, digits) + 0.0:{sign}.{digits}f} ± {plus_minus:.{digits}f}"
    return text.replace("-", "−").replace(".", decimal)
