"""Everything that is said about a visit, from its numbers to the words on the page."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from math import inf

from tapmark.checklist.chain import edges_in_use
from tapmark.checklist.choose import Case, Pick, chosen, pick
from tapmark.checklist.criteria import Criteria
from tapmark.checklist.explain import no_task, reasons
from tapmark.checklist.items import judge_items
from tapmark.checklist.judge import judge_rows
from tapmark.checklist.situation import NOT_ANSWERED, Situation, situation_of
from tapmark.checklist.strengths import process_praise, strengths_of
from tapmark.checklist.verdict import (
    NEAR_THE_LINE,
    NOT_MEASURED,
    PAST,
    SHOWN,
    Assessment,
    Chosen,
    ItemVerdict,
    RowVerdict,
)
from tapmark.marks.people import Athlete, Visit
from tapmark.measures.result import Measured, NotMeasured, Results


def assess(
    results: Results | Sequence[Results],
    athlete: Athlete,
    visit: Visit,
    today: date,
    criteria: Criteria,
    earlier: Sequence[Visit] = (),
    *,
    pain: str = NOT_ANSWERED,
    has_grown: bool = False,
    moved: Sequence[int] = (),
) -> Assessment:
    """Return the assessment of a visit.

    results:    of one set-up, or of several (both directions, side and rear view); those under
                "others" count too.
    today:      the day the sheet is for.
    earlier:    the athlete's other visits: first sheet, running priorities, drills done.
    pain:       "no", "yes" or "not answered", the most careful of the visit's runs (pain_of).
    has_grown:  a growth spurt was noted (situation.has_grown).
    moved:      items of the last choice that have moved nearer to fine.
    """
    situation = situation_of(
        athlete, visit, today, earlier, pain=pain, has_grown=has_grown, moved=moved
    )
    several = (results,) if isinstance(results, Results) else results
    return assess_in(tuple(_with_others(several)), situation, criteria)


def assess_in(results: Sequence[Results], situation: Situation, criteria: Criteria) -> Assessment:
    """Return the assessment of results in a situation that is already worked out."""
    rows, ticks = rows_of(results, criteria), ticks_of(results)
    items = judge_items(rows, ticks, criteria)
    return assess_items(items, rows, situation, criteria, ticks=ticks, results=results)


def assess_items(
    judged: Sequence[ItemVerdict],
    rows: tuple[RowVerdict, ...],
    situation: Situation,
    criteria: Criteria,
    *,
    ticks: Mapping[str, int],
    results: Sequence[Results] = (),
) -> Assessment:
    """Return the assessment of items that have their words; results tell what film there was."""
    items = capped(judged, situation, criteria)
    edges, reach_drives = edges_in_use(criteria.edges, items, rows)
    case = Case(items, edges, situation, criteria)
    picked = pick(case)
    slots = tuple(chosen(slot, case, picked.is_override) for slot in picked.slots)
    strong = strengths_of(rows, ticks, criteria, situation.moved)
    return Assessment(
        rows=rows,
        items=items,
        strengths=strong or process_praise(criteria, situation.n_drills),
        slots=slots,
        edges=edges,
        reasons=reasons(picked, case, reach_drives),
        by_rule=tuple(slot.item for slot in picked.rule),
        blocked=picked.blocked,
        cautions=cautions(picked, case),
        is_youth=case.is_young,
        shows_checklist=not case.is_young and not picked.blocked,
        instead=no_task(picked, case, results),
        heading=heading(slots, picked, case),
        lacks_reason=picked.is_override and not situation.reason,
        most_slots=picked.most,
        is_first_sheet=situation.is_first_sheet,
    )


def rows_of(results: Sequence[Results], criteria: Criteria) -> tuple[RowVerdict, ...]:
    """Return one verdict for each row and foot; graded rows that nobody tried are not measured.

    Where a foot was filmed both as near and as far one, the near one counts.
    """
    judged = [row for each in results for row in judge_rows(each, criteria)]
    best: dict[tuple[str, str], RowVerdict] = {}
    for row in sorted(judged, key=_least_sure_first):
        best[row.result.key, row.foot] = row
    kept = tuple(row for row in judged if best[row.result.key, row.foot] is row)
    return (*kept, *_untried({row.result.key for row in kept}, results, criteria))


def ticks_of(results: Iterable[Results]) -> Mapping[str, int]:
    """Return the worst level of every tick."""
    ticks: dict[str, int] = {}
    for each in results:
        for name, level in each.ticks.items():
            ticks[name] = max(level, ticks.get(name, level))
    return ticks


def capped(
    items: Sequence[ItemVerdict], situation: Situation, criteria: Criteria
) -> tuple[ItemVerdict, ...]:
    """Return the items; under 16 seen and likely are kept at near the line, unless accepted."""
    if not situation.is_under(criteria.choice.under_16):
        return tuple(items)
    return tuple(
        _cap(item, criteria)
        if item.word in PAST and item.number not in situation.accepted
        else item
        for item in items
    )


def heading(slots: Sequence[Chosen], picked: Pick, case: Case) -> str:
    """Return what stands over the slots; nothing where care forbids any, or where there is none."""
    if picked.blocked or not slots:
        return ""
    is_under_16 = case.situation.is_under(case.criteria.choice.under_16)
    if is_under_16 or not any(slot.item.word in PAST for slot in slots):
        key = "something_to_try"
    else:
        key = "one_thing" if len(slots) == 1 else "two_things"
    return case.criteria.words.say(f"headings.{key}")


def cautions(picked: Pick, case: Case) -> tuple[str, ...]:
    """Return the cautions that go on the review page and the sheet."""
    wanted = {
        "today": bool(picked.slots),
        "warm_up": bool(picked.slots),
        "back_from_injury": case.situation.clearance == "cleared",
        "growing": case.is_young,
        "stop": True,
        "medical": True,
    }
    say = case.criteria.words.say
    return tuple(say(f"cautions.{key}") for key, is_wanted in wanted.items() if is_wanted)


def _with_others(results: Iterable[Results]) -> Iterator[Results]:
    for each in results:
        yield each
        yield from _with_others(each.others)


def _cap(item: ItemVerdict, criteria: Criteria) -> ItemVerdict:
    note = " ".join(filter(None, (item.note, criteria.words.say("why.young_cap"))))
    return replace(item, word=NEAR_THE_LINE, is_capped=True, note=note)


def _least_sure_first(row: RowVerdict) -> tuple[bool, bool, bool, float]:
    """Return what to sort by: judged stands behind shown, a number behind none, near behind far."""
    is_judged, result = row.word not in (NOT_MEASURED, SHOWN), row.result
    u = result.u if isinstance(result, Measured) else inf
    return is_judged, u < inf, result.leg != "far", -u


def _untried(
    tried: set[str], results: Sequence[Results], criteria: Criteria
) -> tuple[RowVerdict, ...]:
    context = results[0].graded_as if results else "sprint"
    why = criteria.words.say("why.row_untried")
    return tuple(
        RowVerdict(
            NotMeasured(key, "", why), NOT_MEASURED, band=criteria.band(key, context), why=why
        )
        for key in criteria.graded
        if key not in tried
    )
