"""Everything that is said about a visit, from its numbers to the words on the page."""

import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from math import inf

from tapmark.checklist.chain import edges_in_use
from tapmark.checklist.choose import Case, Pick, chosen, no_task, pick, reasons
from tapmark.checklist.criteria import Criteria, StrengthRule
from tapmark.checklist.items import FEET, judge_items
from tapmark.checklist.judge import gap, judge_rows
from tapmark.checklist.situation import NOT_ANSWERED, Situation, situation_of
from tapmark.checklist.verdict import (
    FINE,
    NEAR_THE_LINE,
    NOT_MEASURED,
    PAST,
    SHOWN,
    Assessment,
    Chosen,
    ItemVerdict,
    RowVerdict,
    Strength,
)
from tapmark.marks.people import Athlete, Visit
from tapmark.measures.result import Z90, Measured, NotMeasured, Results


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
    with_others = tuple(each for one in several for each in one.all())
    return assess_in(with_others, situation, criteria)


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
    tried = {row.result.key for row in kept}
    context = results[0].graded_as if results else "sprint"
    why = criteria.words.say("why.row_untried")
    untried = (
        RowVerdict(
            NotMeasured(key, "", why), NOT_MEASURED, band=criteria.band(key, context), why=why
        )
        for key in criteria.graded
        if key not in tried
    )
    return (*kept, *untried)


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
    kept, told = [], criteria.words.say("why.young_cap")
    for item in items:
        if item.word in PAST and item.number not in situation.accepted:
            note = " ".join(filter(None, (item.note, told)))
            kept.append(replace(item, word=NEAR_THE_LINE, is_capped=True, note=note))
        else:
            kept.append(item)
    return tuple(kept)


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


def _least_sure_first(row: RowVerdict) -> tuple[bool, bool, bool, float]:
    """Return what to sort by: judged stands behind shown, a number behind none, near behind far."""
    is_judged, result = row.word not in (NOT_MEASURED, SHOWN), row.result
    u = result.u if isinstance(result, Measured) else inf
    return is_judged, u < inf, result.leg != "far", -u


CLEARLY = 2  # level of a tick


def strengths_of(
    rows: Sequence[RowVerdict],
    ticks: Mapping[str, int],
    criteria: Criteria,
    moved: Collection[int] = (),
) -> tuple[Strength, ...]:
    """Return the strengths to print, surest first, one of a group, two or three in all.

    moved: items that were asked for last time and have moved nearer to fine.
    """
    first_of_group: dict[str, Strength] = {}
    for rule in criteria.strengths:
        found = _found(rule, rows, ticks, criteria, moved)
        if found:
            first_of_group.setdefault(rule.group, found)
    best = sorted(first_of_group.values(), key=lambda strength: -strength.margin)
    return tuple(best[: criteria.choice.strengths])


def process_praise(criteria: Criteria, n_drills: int) -> tuple[Strength, ...]:
    """Return praise for what was done, where no row is fine: drills ticked, not being filmed."""
    said = Strength("process drills", criteria.words.say("process.drills"))
    return (said,) if n_drills else ()


def _found(
    rule: StrengthRule,
    rows: Sequence[RowVerdict],
    ticks: Mapping[str, int],
    criteria: Criteria,
    moved: Collection[int],
) -> Strength | None:
    margin = {
        "fine": lambda: _margin_of_all(rule, rows),
        "both alike": lambda: _alike(rule, rows),
        "tick": lambda: math.inf if _is_ticked(rule, ticks) else 0.0,
        "moved": lambda: math.inf if moved else 0.0,
    }[rule.rule]()
    if margin <= 1:
        return None
    return Strength(rule.key, criteria.words.strength(rule.key), margin)


def _is_ticked(rule: StrengthRule, ticks: Mapping[str, int]) -> bool:
    return all(ticks.get(name, 0) >= CLEARLY for name in rule.ticks)


def _margin_of_all(rule: StrengthRule, rows: Sequence[RowVerdict]) -> float:
    """Return the smallest margin in u, 0 when a row is missing or not fine on a filmed foot."""
    margins = []
    for key in rule.rows:
        judged = [row for row in rows if row.result.key == key and row.word != NOT_MEASURED]
        if not judged or any(row.word != FINE for row in judged):
            return 0.0
        margins += [row.margin for row in judged]
    return min(margins)


def _alike(rule: StrengthRule, rows: Sequence[RowVerdict]) -> float:
    """Return a margin above 1 when right and left are surely alike, both filmed as near leg.

    Alike by the rule for "same": the difference and 1.64 times its doubt fit into the gap from
    fine to limit. Every row that was filmed both ways must fit, and at least one must be there.
    """
    pairs = [pair for key in rule.rows if (pair := _both_near(key, rows))]
    if not pairs:
        return 0.0
    return min(_alike_margin(*pair) for pair in pairs)


def _both_near(key: str, rows: Sequence[RowVerdict]) -> tuple[RowVerdict, RowVerdict] | None:
    near = {row.foot: row for row in rows if row.result.key == key and row.result.leg == "near"}
    pair = [near[foot] for foot in FEET if foot in near]
    is_whole = len(pair) == len(FEET) and all(row.word not in (NOT_MEASURED, SHOWN) for row in pair)
    return (pair[0], pair[1]) if is_whole else None


def _alike_margin(right: RowVerdict, left: RowVerdict) -> float:
    a, b = right.result, left.result
    assert isinstance(a, Measured) and isinstance(b, Measured) and right.band is not None
    sides = [side for side in ("low", "high") if getattr(right, side)]
    room = min(gap(right.band, side) for side in sides)
    doubt = math.hypot(a.u, b.u)
    return 1 + (room - abs(a.value - b.value) - Z90 * doubt) / doubt
