"""A training note for a physio: what was filmed, every number with its ±, and no opinion.

No band, no verdict word, no drill and no cue stands in it: what the numbers mean is for the reader.
"""

from collections.abc import Iterator
from datetime import date

from tapmark.checklist.words import Words
from tapmark.errands.passes import alike, all_results, in_both
from tapmark.errands.places import VisitPlace
from tapmark.errands.visits import VisitReading, marked_before, read_visit
from tapmark.marks.run import SetUp
from tapmark.measures.catalogue import row
from tapmark.measures.change import Edges, compare
from tapmark.measures.export import foot
from tapmark.measures.result import Measured, Results
from tapmark.sheet.page_words import page_words
from tapmark.store.season import length_on

WIDE = 43


def note_lines(place: VisitPlace, today: date, decimal: str = ".") -> Iterator[str]:
    """Yield the note about one visit, and the differences to the marked visit before it.

    Raises StoreError for files that cannot be read.
    """
    reading = read_visit(place, today)
    words = reading.criteria.words
    yield from _head(reading, today, decimal)
    for results in all_results(reading.results):
        yield from _numbers(results, words, decimal)
    before = marked_before(place.squad, reading.earlier)
    if before:
        was = read_visit(VisitPlace(place.squad, place.code, before.dated), today)
        yield from _differences(was, reading, decimal)


def _head(reading: VisitReading, today: date, decimal: str) -> Iterator[str]:
    athlete, dated, words = reading.athlete, reading.visit.dated, reading.criteria.words
    year = athlete.birth_year
    born = words.say("note.born", year=year) if year else words.say("note.born_unknown")
    code = words.say("note.athlete", code=athlete.code)
    yield words.say("note.title")
    yield ", ".join(filter(None, (code, born, athlete.group)))
    printed = page_words(words)
    filmed, written = printed.iso_date(dated), printed.date(today)
    yield words.say("note.filmed", day=filmed, today=written)
    yield words.say("note.about_numbers")
    yield words.say("note.about_opinions")
    leg = length_on(athlete, "leg", dated)
    if leg:
        length = f"{leg.cm:.1f}".replace(".", decimal)
        day = printed.iso_date(leg.dated) or words.say("note.leg_day_unknown")
        yield words.say("note.leg", cm=length, day=day)
    yield words.say("note.pain", answers=_pain(reading))
    yield from dict.fromkeys(_set_up(run.set_up, words) for _, run in reading.runs)
    not_noted = words.say("note.not_noted")
    markers = sorted({run.marked_by or not_noted for _, run in reading.runs})
    yield words.say("note.marked_by", names=", ".join(markers))


def _pain(reading: VisitReading) -> str:
    answers = dict.fromkeys(run.set_up.pain for run in reading.counted)
    return ", ".join(map(reading.criteria.words.told, answers))


def _set_up(answers: SetUp, words: Words) -> str:
    effort = words.say("note.effort", n=answers.effort) if answers.effort else ""
    typed = (answers.zone, answers.shoes, answers.surface, answers.wind)
    told = (words.told(answers.context), *typed, words.told(answers.camera), effort)
    return words.say("note.run", facts=", ".join(filter(None, told)))


def _numbers(results: Results, words: Words, decimal: str) -> Iterator[str]:
    hz = results.rate_hz
    rate = words.say("note.rate", n=f"{hz:.0f}") if hz else words.say("note.no_rate")
    view = f"note.{results.view}_view"
    yield ""
    yield words.say(view, side=results.near_side, n=results.n_steps, rate=rate)
    for result in results.rows.values():
        if isinstance(result, Measured):
            told = row(result.key)
            value = _shown(result.value, result.plus_minus, result.digits, decimal)
            name, unit = _named(results, result, words), words.told(told.unit)
            yield f"  {name:{WIDE}} {value:>14} {unit:6} {words.told(told.sign)}"


def _differences(before: VisitReading, after: VisitReading, decimal: str) -> Iterator[str]:
    words, like = after.criteria.words, alike(before, after)
    yield ""
    day = page_words(words).iso_date(before.visit.dated)
    yield words.say("note.difference", day=day)
    yield from (f"  {words.say('note.other_conditions', why=each)}" for each in like.refused)
    yield from (f"  {words.say('note.other_lengths', why=each)}" for each in like.refused_lengths)
    yield from (f"  {words.say('note.remark', what=each)}" for each in like.labels)
    for results, was, now in in_both(before, after):
        if not like.why_not(now.unit):
            change = compare(was, now, Edges())
            value = _shown(change.difference, change.smallest, now.digits, decimal, "+")
            name, unit = _named(results, now, words), words.told(row(now.key).unit)
            yield f"  {name:{WIDE}} {value:>14} {unit}"


def _named(results: Results, result: Measured, words: Words) -> str:
    side = foot(results, result.leg)
    about = " ≈" if result.is_about else ""
    return f"{words.told(row(result.key).name)}{f', {words.told(side)}' if side else ''}{about}"


def _shown(value: float, plus_minus: float, digits: int, decimal: str, sign: str = "") -> str:
    text = f"{round(value, digits) + 0.0:{sign}.{digits}f} ± {plus_minus:.{digits}f}"
    return text.replace("-", "−").replace(".", decimal)
