"""Pick at most two: candidates, rank, care, and the coach's own choice."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from tapmark.checklist.chain import (
    Edges,
    are_related,
    downstream,
    height,
    may_start_with,
    starts_with,
)
from tapmark.checklist.criteria import Criteria, ItemRule
from tapmark.checklist.situation import NOT_ANSWERED, PAIN, Situation, still_runs
from tapmark.checklist.verdict import (
    CANT_TELL,
    FINE,
    PAST,
    SEEN,
    TOLD,
    Chosen,
    ItemVerdict,
    Phrase,
    RowVerdict,
)
from tapmark.marks.people import Slot
from tapmark.measures.result import Measured


@dataclass(frozen=True)
class Case:
    """What a choice is made from: 18 items, the chain in use, the situation, the criteria."""

    items: tuple[ItemVerdict, ...]
    edges: Edges
    situation: Situation
    criteria: Criteria

    def item(self, number: int) -> ItemVerdict:
        """Return the verdict of an item."""
        return self.items[number - 1]

    def rule(self, number: int) -> ItemRule:
        """Return how an item is read."""
        return self.criteria.items[number - 1]

    def any_of(self, numbers: Sequence[int], words: Sequence[str]) -> bool:
        """Return whether any of the items has one of the words."""
        return any(self.item(number).word in words for number in numbers)

    @property
    def is_young(self) -> bool:
        """Whether the words and rules for under 18 hold."""
        return self.situation.is_youth(self.criteria.choice)


@dataclass(frozen=True)
class Ranked:
    """A candidate and what it ranks by, the largest first.

    is_sure:  it is seen, or it is likely and may lead, past no fine item, to one that is seen.
    n_below:  items it may lead to that are seen, likely or near the line.
    height:   edges on the longest way to the end of the chain.
    excess:   (value − limit) ÷ u of its worst row.
    """

    item: ItemVerdict
    is_sure: bool
    n_below: int
    height: int
    excess: float

    @property
    def order(self) -> tuple[bool, int, int, float]:
        """What it is sorted by."""
        return self.is_sure, self.n_below, self.height, self.excess


@dataclass(frozen=True)
class Pick:
    """What fills the slots and what the rule would have put there.

    slots: what is printed. rule: what the rule chooses, whatever the coach chose.
    most:  how many slots may be filled. blocked: why none may, "" otherwise.
    """

    slots: tuple[Slot, ...] = ()
    rule: tuple[Slot, ...] = ()
    most: int = 0
    blocked: str = ""

    @property
    def is_override(self) -> bool:
        """Whether the coach chose otherwise than the rule."""
        return [slot.item for slot in self.slots] != [slot.item for slot in self.rule]


def pick(case: Case) -> Pick:
    """Return the slots of the rule and those of the coach, as far as care allows."""
    rule, own = by_rule(case), case.situation.slots
    return Pick(
        slots=rule if own is None else by_coach(own, case),
        rule=rule,
        most=most_slots(case.situation, case.criteria),
        blocked=blocked_by(case.situation, case.criteria),
    )


def blocked_by(situation: Situation, criteria: Criteria) -> str:
    """Return why no priority and no drill may be given, "" when they may."""
    causes = {
        "pain": situation.pain == PAIN,
        "not_answered": situation.pain == NOT_ANSWERED,
        "under_treatment": situation.clearance == "under treatment",
        "under_12": situation.is_under(criteria.choice.under_12),
    }
    cause = next((cause for cause, holds in causes.items() if holds), "")
    return criteria.words.say(f"blocked.{cause}") if cause else ""


def limits(situation: Situation, criteria: Criteria) -> tuple[str, ...]:
    """Return the reasons for one slot only, as keys of why; empty when two may be filled."""
    causes = {
        "one_first": situation.is_first_sheet,
        "one_young": situation.is_under(criteria.choice.under_16),
        "one_grown": situation.has_grown and situation.is_youth(criteria.choice),
        "one_injury": situation.clearance == "cleared",
        "one_quiet": situation.is_quiet(criteria.choice),
    }
    return tuple(cause for cause, holds in causes.items() if holds)


def most_slots(situation: Situation, criteria: Criteria) -> int:
    """Return how many slots may be filled: none, one or two."""
    if blocked_by(situation, criteria):
        return 0
    return 1 if limits(situation, criteria) else criteria.choice.slots


def ranked(case: Case) -> tuple[Ranked, ...]:
    """Return the candidates, first choice first; equal ones keep the order of their numbers."""
    found = [_rank(item, case) for item in case.items if not why_disabled(item, case)]
    return tuple(sorted(found, key=lambda each: each.order, reverse=True))


def why_disabled(item: ItemVerdict, case: Case) -> str:
    """Return why the rule gives an item no slot, as a key of why; "" when it is a candidate."""
    rule = case.rule(item.number)
    causes = {
        "not_seen": item.word not in PAST,
        "result_refused": item.is_result,
        "wording": rule.wording_of is not None and case.any_of([rule.wording_of], PAST),
        "item_3": bool(rule.larger_part),
        "adults_only": rule.adults_only and case.is_young,
        "item_15": case.any_of(rule.only_after, (*TOLD, CANT_TELL)),
        "one_of_several": not _is_repeated(item),
    }
    return next((cause for cause, holds in causes.items() if holds), "")


def by_rule(case: Case) -> tuple[Slot, ...]:
    """Return what the rule chooses: running priorities first, then candidates by rank."""
    most = most_slots(case.situation, case.criteria)
    slots = [*kept_slots(case)][:most]
    if case.situation.is_quiet(case.criteria.choice):
        return tuple(slots)
    for candidate in ranked(case):
        number = candidate.item.number
        if len(slots) < most and not related_to(number, slots, case):
            slots.append(Slot(number, since=case.situation.today.isoformat()))
    return tuple(slots)


def related_to(number: int, slots: Sequence[Slot], case: Case) -> int | None:
    """Return the slot's item that an item is, or is related to; None when it stands alone."""
    return next(
        (
            slot.item
            for slot in slots
            if slot.item == number or are_related(case.edges, number, slot.item, case.items)
        ),
        None,
    )


def kept_slots(case: Case) -> tuple[Slot, ...]:
    """Return the earlier priorities that go on: in their time, not fine yet, no results."""
    situation = case.situation
    return tuple(
        slot
        for slot in situation.kept
        if still_runs(slot, situation.today, case.criteria.choice)
        and case.item(slot.item).word != FINE
        and may_fill(slot.item, case)
    )


def may_fill(number: int, case: Case) -> bool:
    """Return whether an item may take a slot at all, by rule or by hand."""
    is_held = case.rule(number).adults_only and case.is_young
    return not case.item(number).is_result and not is_held


def by_coach(slots: Sequence[Slot], case: Case) -> tuple[Slot, ...]:
    """Return the coach's choice as far as care allows."""
    since = {slot.item: slot.since for slot in case.situation.kept}
    today = case.situation.today.isoformat()
    once = {slot.item: slot for slot in reversed(slots) if may_fill(slot.item, case)}
    dated = [
        replace(slot, since=slot.since or since.get(slot.item, today))
        for slot in slots
        if once.get(slot.item) is slot
    ]
    return tuple(dated[: most_slots(case.situation, case.criteria)])


def chosen(slot: Slot, case: Case, is_override: bool) -> Chosen:
    """Return a filled slot with its words; the coach's own cue goes before the phrase bank's."""
    phrase, item = phrase_for(slot.item, case), case.item(slot.item)
    if not item.is_sure:
        phrase = _as_an_idea(phrase, item, slot in case.situation.kept, is_override, case)
    return Chosen(
        item=item,
        phrase=replace(phrase, cue=slot.cue) if slot.cue else phrase,
        starts_with=starts_with(case.edges, slot.item, case.items) if item.is_sure else (),
        is_override=is_override,
        since=slot.since,
        may_start_with=may_start_with(case.edges, slot.item, case.items),
    )


def phrase_for(number: int, case: Case) -> Phrase:
    """Return the words of an item for the athlete's age."""
    wider = told_along(number, case) is not None
    drills = case.rule(number).drills
    return case.criteria.words.phrase(number, drills, case.is_young, wider)


def _as_an_idea(
    phrase: Phrase, item: ItemVerdict, is_kept: bool, is_override: bool, case: Case
) -> Phrase:
    """Return the words for a priority that this film does not show: whose idea it is, no fact."""
    words = case.criteria.words
    whose = "kept" if is_kept else "by_coach" if is_override else "by_rule"
    says = f"{words.idea(item.word)} {words.say(f'idea.{whose}')}"
    return replace(phrase, says=says, to_parent=words.say("idea.parent", name=phrase.name))


def told_along(number: int, case: Case) -> int | None:
    """Return the item that becomes a wording of this one, because both are seen or likely."""
    others = [rule.number for rule in case.criteria.items if rule.wording_of == number]
    both = [each for each in others if case.item(each).is_sure and case.item(number).is_sure]
    return next(iter(both), None)


def _is_repeated(item: ItemVerdict) -> bool:
    """Told by two steps or more where two or more were marked; ticks have no steps."""
    telling = [row for row in item.rows if row.word in TOLD]
    return all(row.n_marked == 1 or _n_steps(row) > 1 for row in telling)


def _n_steps(row: RowVerdict) -> int:
    return row.result.n_steps if isinstance(row.result, Measured) else 0


def _rank(item: ItemVerdict, case: Case) -> Ranked:
    below = downstream(case.edges, item.number)
    n_below = sum(case.item(n).word in TOLD for n in below)
    fine = {each.number for each in case.items if each.word == FINE}
    follow = downstream(case.edges, item.number, fine)
    is_sure = item.word == SEEN or case.any_of(tuple(follow), [SEEN])
    excess = max((row.excess for row in item.rows if row.band), default=0.0)
    return Ranked(item, is_sure, n_below, height(case.edges, item.number), excess)
