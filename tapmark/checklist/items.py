"""A word for each of the 18 items, read from the words of its rows; no number is looked at.

Ticks are what the coach saw and ticked: 0 no, 1 a little, 2 clearly. Not ticked is no answer.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from tapmark.checklist.criteria import Criteria, Input, ItemRule
from tapmark.checklist.verdict import (
    CANT_TELL,
    FINE,
    LIKELY,
    NEAR_THE_LINE,
    NOT_MEASURED,
    PAST,
    SEEN,
    SHOWN,
    TOLD,
    ItemVerdict,
    RowVerdict,
)
from tapmark.measures.result import Measured

WORST_FIRST = (SEEN, LIKELY, NEAR_THE_LINE, CANT_TELL, FINE, SHOWN, NOT_MEASURED)
_TICK_WORDS = (FINE, NEAR_THE_LINE, SEEN)
_OTHER = {"right": "left", "left": "right", "": ""}
FEET = ("right", "left")

Picked = tuple[tuple[Input, RowVerdict], ...]  # the rows of one foot, in the order of the inputs


def judge_items(
    rows: Sequence[RowVerdict], ticks: Mapping[str, int], criteria: Criteria
) -> tuple[ItemVerdict, ...]:
    """Return the verdicts of items 1 to 18."""
    judged = tuple(_judge(rule, rows, ticks, criteria) for rule in criteria.items)
    teller = _told_by(judged, criteria)
    return tuple(_told(item, teller.get(item.number), criteria) for item in judged)


def worst(words: Iterable[str]) -> str:
    """Return the worst word; a word that says something counts before "not measured"."""
    return min(words, key=WORST_FIRST.index, default=NOT_MEASURED)


def contact_kind(reach: RowVerdict, knee: RowVerdict) -> str:
    """Return "pull" (both seen), "push" (both fine), else "between".

    "" when one is not known, or both are past their limits but one of them only likely.
    """
    words = {reach.word, knee.word}
    if words & {NOT_MEASURED, CANT_TELL, SHOWN}:
        return ""
    if words == {SEEN}:
        return "pull"
    if words <= {*PAST}:
        return ""
    return "push" if words == {FINE} else "between"


def _judge(
    rule: ItemRule, rows: Sequence[RowVerdict], ticks: Mapping[str, int], criteria: Criteria
) -> ItemVerdict:
    item = ItemVerdict(
        rule.number, criteria.words.item(rule.number), NOT_MEASURED, is_result=rule.is_result
    )
    if rule.rule == "ticks":
        return _ticked(item, rule, ticks, criteria)
    judged = _from_rows(item, rule, rows, criteria)
    return _with_side_tick(judged, rule, ticks, criteria) if rule.ticks else judged


def _told_by(items: Sequence[ItemVerdict], criteria: Criteria) -> dict[int, ItemVerdict]:
    """Return number → the item that is named in its place, of two that are both past their limits.

    Where both share a joint, the one more surely past its limit is named.
    """
    teller: dict[int, ItemVerdict] = {}
    for rule in criteria.items:
        for number in (*rule.shares_with, *rule.told_by):
            item, other = items[rule.number - 1], items[number - 1]
            if {item.word, other.word} <= {*PAST} and not {item.number, number} & teller.keys():
                is_surer = _past_by(item, rule) > _past_by(other, criteria.items[number - 1])
                told, by = (
                    (other, item) if is_surer and number in rule.shares_with else (item, other)
                )
                teller[told.number] = by
    return teller


def _past_by(item: ItemVerdict, rule: ItemRule) -> float:
    """Return by how many u the first row of an item lies past its limit."""
    first = rule.inputs[0]
    past = (
        row.excess
        for row in item.rows
        if row.result.key == first.row and row.side == first.side and row.excess is not None
    )
    return max(past, default=0.0)


def _told(item: ItemVerdict, teller: ItemVerdict | None, criteria: Criteria) -> ItemVerdict:
    if teller is None:
        return item
    told = criteria.words.say("why.told_by", name=teller.name)
    return replace(item, word=NEAR_THE_LINE, note=" ".join(filter(None, (item.note, told))))


def _from_rows(
    item: ItemVerdict, rule: ItemRule, rows: Sequence[RowVerdict], criteria: Criteria
) -> ItemVerdict:
    by_foot = {foot: picked for foot in ("", *FEET) if (picked := _pick(rule, rows, foot))}
    if len(by_foot) > 1:
        by_foot.pop("", None)
    words = {foot: _word(rule, picked) for foot, picked in by_foot.items()}
    word = worst(words.values())
    at = tuple(foot for foot in words if words[foot] == word)
    used = tuple(row for picked in by_foot.values() for _, row in picked)
    counts = [row.result.n_steps for row in used if isinstance(row.result, Measured)]
    judged = replace(item, word=word, rows=used, once=max(counts, default=0) == 1)
    judged = replace(judged, feet=_feet(rule, words, word, at))
    if rule.larger_part and word in TOLD:
        judged = replace(judged, cause=_cause(rule, rows, at))
    return replace(judged, note=_note(rule, judged, by_foot, criteria))


def _cause(rule: ItemRule, rows: Sequence[RowVerdict], at: tuple[str, ...]) -> int | None:
    """Return the item of the larger part: where the part behind the hip is fine, the other one."""
    ahead, behind = rule.larger_part
    parts = [row for row in rows if row.result.key == "separation_behind" and row.foot in at]
    if not parts:
        return None
    return ahead if all(row.high == FINE for row in parts) else behind


def _pick(rule: ItemRule, rows: Sequence[RowVerdict], foot: str) -> Picked:
    """Return the rows that speak about one foot; nothing when none of them names that foot."""
    picked: list[tuple[Input, RowVerdict]] = []
    for each in rule.inputs:
        owner = _OTHER[foot] if each.is_swing else foot
        found = [row for row in rows if row.result.key == each.row and row.foot in (owner, "")]
        picked += [(each, row) for row in found[:1]]
    named = [row for _, row in picked if row.foot]
    return tuple(picked) if named or (not foot and picked) else ()


def _word(rule: ItemRule, picked: Picked) -> str:
    found = {each: _side_word(each, row) for each, row in picked}
    words = [found.get(each, NOT_MEASURED) for each in rule.inputs]
    match rule.rule:
        case "all":
            return _all_seen(words)
        case "helped":  # the first counts; the second lifts it as far as it goes itself
            first, second = words
            lifts = first in (LIKELY, NEAR_THE_LINE) and second in PAST
            return worst((first, second)) if lifts else first
        case "shown":
            return SHOWN if SHOWN in (row.word for _, row in picked) else NOT_MEASURED
        case _:
            return worst(words)


def _side_word(each: Input, row: RowVerdict) -> str:
    if row.word in (SHOWN, NOT_MEASURED):
        return NOT_MEASURED
    return {"any": row.word, "low": row.low, "high": row.high}[each.side]


def _all_seen(words: Sequence[str]) -> str:
    """Seen where all are, likely where all are at least that.

    One alone makes near the line; one missing decides nothing.
    """
    if set(words) <= {*PAST}:
        return LIKELY if LIKELY in words else SEEN
    if {*PAST} & {*words}:
        return NEAR_THE_LINE
    return NOT_MEASURED if NOT_MEASURED in words else worst(words)


def _feet(rule: ItemRule, words: Mapping[str, str], word: str, at: tuple[str, ...]) -> str:
    filmed = [foot for foot in words if foot and words[foot] not in (NOT_MEASURED, SHOWN)]
    if not rule.names_foot or not filmed:
        return ""
    if word == FINE:
        return "" if len(filmed) == len(FEET) else filmed[0]
    return "both" if len(at) == len(FEET) else at[0]


def _note(
    rule: ItemRule, item: ItemVerdict, by_foot: Mapping[str, Picked], criteria: Criteria
) -> str:
    say = criteria.words.say
    if item.word == NOT_MEASURED:
        missing = [
            say("why.missing_row", row=criteria.words.row(each.row), reason=row.why)
            for picked in by_foot.values()
            for each, row in picked
            if _side_word(each, row) == NOT_MEASURED and row.why
        ]
        return " ".join(dict.fromkeys(missing))
    notes = []
    if item.cause:
        notes.append(say("why.larger_part", other=criteria.words.item(item.cause)))
    if rule.wording_of:
        kinds = [_contact(picked) for picked in by_foot.values()]
        told = [say(f"contact.{kind}") for kind in dict.fromkeys(kinds) if kind]
        notes += [say("why.contact", word=", ".join(told))] if told else []
    if item.word == FINE and item.feet:
        notes.append(say("why.other_foot", foot=criteria.words.foot(_OTHER[item.feet])))
    return " ".join(notes)


def _contact(picked: Picked) -> str:
    rows = [row for _, row in picked]
    return contact_kind(rows[0], rows[1]) if len(rows) > 1 else ""


def _ticked(
    item: ItemVerdict, rule: ItemRule, ticks: Mapping[str, int], criteria: Criteria
) -> ItemVerdict:
    """Worst tick counts; "fine" needs an answer to every question."""
    answers = [_TICK_WORDS[ticks[name]] for name in rule.ticks if name in ticks]
    missing = [name for name in rule.ticks if name not in ticks]
    word = worst(answers)
    if word == FINE and missing:
        word = NOT_MEASURED
    notes = [criteria.words.say("why.no_tick", tick=name) for name in missing]
    return replace(item, word=word, note=" ".join(notes))


def _with_side_tick(
    item: ItemVerdict, rule: ItemRule, ticks: Mapping[str, int], criteria: Criteria
) -> ItemVerdict:
    """A tick from the side view, where nothing was measured, makes near the line at most."""
    if item.word != NOT_MEASURED or not any(ticks.get(name) for name in rule.ticks):
        return item
    return replace(item, word=NEAR_THE_LINE, note=criteria.words.say("why.side_tick"))
