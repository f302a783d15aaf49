"""Pick at most two: candidates, rank, care, and the coach's own choice."""

from collections.abc import Iterator, Sequence
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
    LIKELY,
    NEAR_THE_LINE,
    NOT_MEASURED,
    PAST,
    SEEN,
    SHOWN,
    TOLD,
    Chosen,
    ItemVerdict,
    Phrase,
)
from tapmark.checklist.words import Words
from tapmark.marks.people import Slot
from tapmark.measures.result import Measured, Results


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
    if item.word not in PAST:
        return "not_seen"
    rule = case.rule(item.number)
    # Told by two steps or more where two or more were marked; ticks have no steps.
    telling = [row for row in item.rows if row.word in TOLD and row.n_marked != 1]
    is_repeated = all(isinstance(r.result, Measured) and r.result.n_steps > 1 for r in telling)
    causes = {
        "result_refused": item.is_result,
        "wording": rule.wording_of is not None and case.any_of([rule.wording_of], PAST),
        "item_3": bool(rule.larger_part),
        "adults_only": rule.adults_only and case.is_young,
        "item_15": case.any_of(rule.only_after, (*TOLD, CANT_TELL)),
        "one_of_several": not is_repeated,
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


def _rank(item: ItemVerdict, case: Case) -> Ranked:
    below = downstream(case.edges, item.number)
    n_below = sum(case.item(n).word in TOLD for n in below)
    fine = {each.number for each in case.items if each.word == FINE}
    follow = downstream(case.edges, item.number, fine)
    is_sure = item.word == SEEN or case.any_of(tuple(follow), [SEEN])
    excess = max((row.excess for row in item.rows if row.band), default=0.0)
    return Ranked(item, is_sure, n_below, height(case.edges, item.number), excess)


MOST_UNCLEAR = 3  # names in one plain line: ours
FAST_HZ = 235.0  # phones that say 240 run a little under it: from memory
ENOUGH_PASSES = 3  # marked steps after which more passes help little: common practice, no source


def reasons(pick: Pick, case: Case, reach_drives: bool = False) -> tuple[str, ...]:
    """Return sentences that say why these slots were filled and others were not."""
    if pick.blocked:
        return (pick.blocked,)
    say = case.criteria.words.say
    unsure = [item.number for item in case.items if item.word == CANT_TELL and not item.is_result]
    new = [slot for slot in pick.slots if slot not in case.situation.kept]  # picked today, by rank
    told = [
        *(line for slot in pick.slots for line in _why_slot(slot, case)),
        *_own_choice(pick, case),
        *_why_no_more(pick, case),
        *(
            say("why.kept_over", name=case.item(slot.item).name)
            for slot in case.situation.kept
            if still_runs(slot, case.situation.today, case.criteria.choice)
            and case.item(slot.item).word == FINE
        ),
        *_left_out(case),
        *((say("why.split_reach"),) if reach_drives else ()),
        *((say("why.unsure", name=_names(unsure, case)),) if unsure else ()),
        *((say("why.chance"),) if new and not pick.is_override else ()),
    ]
    return tuple(dict.fromkeys(told))


def no_task(picked: Pick, case: Case, results: Sequence[Results]) -> tuple[str, ...]:
    """Return what stands in place of a task, title first; nothing where one is given or forbidden.

    "Nothing to change" is said only where something was measured and all of it is fine. Whatever
    word is not known here counts as one that a coach still has to look at.
    """
    if picked.slots or picked.blocked:
        return ()
    words, is_young = case.criteria.words, case.is_young
    graded = [item for item in case.items if not item.is_result]
    measured = [item for item in graded if item.word not in (NOT_MEASURED, SHOWN)]
    unclear = [item for item in measured if item.word == CANT_TELL]
    quiet = (NEAR_THE_LINE, CANT_TELL, FINE)
    if any(item.is_capped or item.word not in quiet for item in measured):
        return tuple(_not_chosen(measured, case))
    if unclear or not measured:
        what = _unclear(unclear, words) if unclear else words.say("no_task.nothing_measured")
        return words.say("no_task.cant_tell"), what, words.say(f"no_task.{_would_tell(results)}")
    if any(item.word == NEAR_THE_LINE for item in measured):
        near = [item.number for item in measured if item.word == NEAR_THE_LINE]
        named = () if is_young else (words.say("no_task.near_names", names=_names(near, case)),)
        return words.say("no_task.near"), *named, words.say("no_task.near_says")
    return words.say("headings.keep_this"), words.say("no_task.keep_says")


def _not_chosen(measured: Sequence[ItemVerdict], case: Case) -> Iterator[str]:
    """Something is past the line, or probably is, and yet there is no task."""
    say, choice = case.criteria.words.say, case.criteria.choice
    if case.situation.is_under(choice.under_16):
        yield from (say("no_task.not_chosen"), say("no_task.not_chosen_says"))
        return
    yield say("no_task.none")
    seen = [item.number for item in measured if item.word == SEEN]
    if seen and not case.is_young:
        yield say("no_task.none_names", names=_names(seen, case))
    yield say("no_task.none_race" if case.situation.is_quiet(choice) else "no_task.none_says")


def _unclear(items: Sequence[ItemVerdict], words: Words) -> str:
    """Name the measures that could not be told, the first few: a measure accuses nobody."""
    rows = [row.result.key for item in items for row in item.rows if row.word == CANT_TELL]
    names = [words.row(key) for key in dict.fromkeys(rows)] or [item.name for item in items]
    told, n = "; ".join(names[:MOST_UNCLEAR]), len(names) - MOST_UNCLEAR
    if n > 0:
        return words.say("no_task.unclear_more", names=told, n=n)
    return words.say("no_task.unclear", names=told)


def _would_tell(results: Sequence[Results]) -> str:
    """Return what would tell more, as a key of no_task: a faster camera, more passes, or both."""
    rates = [each.rate_hz or each.effective_hz or 0.0 for each in results]
    is_slow = max(rates, default=0.0) < FAST_HZ
    has_few = sum(each.n_steps for each in results) < ENOUGH_PASSES
    if is_slow:
        return "tell_rate_and_passes" if has_few else "tell_rate"
    return "tell_passes" if has_few else "tell_again"


def _why_slot(slot: Slot, case: Case) -> Iterator[str]:
    item, say = case.item(slot.item), case.criteria.words.say
    if slot in case.situation.kept:
        yield say("why.kept", name=item.name, date=slot.since)
    else:
        yield from _why_ranked(item, case)
    along = told_along(slot.item, case)
    if along:
        yield say("why.wording", name=case.item(along).name, other=item.name)
    first = starts_with(case.edges, slot.item, case.items)
    if first:
        yield say("why.starts_with", name=item.name, other=_names(first, case))
    unsure = may_start_with(case.edges, slot.item, case.items)
    if unsure:
        yield say("why.may_start_with", name=item.name, other=_names(unsure, case))
    if item.word == LIKELY:
        yield say("why.likely", name=item.name)
    elif item.once and item.word == SEEN:
        yield say("why.seen_once", name=item.name)


def _why_ranked(item: ItemVerdict, case: Case) -> Iterator[str]:
    words, all_ranked = case.criteria.words, ranked(case)
    rank = next((each for each in all_ranked if each.item is item), None)
    if rank is None:
        return
    key = "why.chosen" if rank.n_below else "why.chosen_alone"
    fields = {"n": rank.n_below} if rank.n_below else {}
    word = words.verdict(item.word)
    yield words.say(key, name=item.name, feet=words.in_brackets(item.feet), word=word, **fields)
    for other in all_ranked:
        if other is not rank and other.order == rank.order:
            yield words.say("why.tie", first=item.name, second=other.item.name)


def _own_choice(pick: Pick, case: Case) -> Iterator[str]:
    own, say = case.situation.slots, case.criteria.words.say
    if own is None:
        return
    for slot in own:
        if case.item(slot.item).is_result:
            yield say("why.result_refused", name=case.item(slot.item).name)
        elif not may_fill(slot.item, case):
            yield say("why.adults_only", name=case.item(slot.item).name)
    if len([slot for slot in own if may_fill(slot.item, case)]) > pick.most:
        yield say("why.too_many", n=pick.most)
    if pick.is_override and case.situation.reason:
        yield say("why.override", reason=case.situation.reason)
    elif pick.is_override:
        yield say("why.override_bare")


def _why_no_more(pick: Pick, case: Case) -> Iterator[str]:
    situation, say = case.situation, case.criteria.words.say
    for cause in limits(situation, case.criteria):
        fields = {"date": situation.goal_race} if cause == "one_quiet" else {}
        yield say(f"why.{cause}", **fields)
    if situation.goal_race and situation.race_day() is None:
        yield say("why.race_unclear", date=situation.goal_race)
    if not pick.slots and not any(item.word in PAST or item.is_capped for item in case.items):
        yield say("why.nothing_seen")
    if len(pick.slots) == 1 and pick.most > 1 and not pick.is_override:
        yield _why_second_is_empty(pick, case)


def _why_second_is_empty(pick: Pick, case: Case) -> str:
    say, taken = case.criteria.words.say, pick.slots[0].item
    others = [each.item for each in ranked(case) if each.item.number != taken]
    for other in others:
        if related_to(other.number, pick.slots, case):
            return say("why.related", name=other.name, first=case.item(taken).name)
    return say("why.none_left")


def _left_out(case: Case) -> Iterator[str]:
    say = case.criteria.words.say
    held = [item.number for item in case.items if item.is_capped and not item.is_result]
    if held:
        yield say("why.accept", name=_names(held, case))
    for item in case.items:
        rule, cause = case.rule(item.number), why_disabled(item, case)
        if cause == "item_3":
            others = (item.cause,) if item.cause else rule.larger_part
            yield say("why.item_3", name=item.name, other=_names(others, case))
        elif cause == "adults_only":
            yield say("why.adults_only", name=item.name)
        elif cause == "item_15":
            yield say("why.item_15", name=item.name, other=_names(rule.only_after, case))
        elif cause == "one_of_several":
            n_marked = max(row.n_marked for row in item.rows)
            yield say("why.one_of_several", name=item.name, n=n_marked)


def _names(numbers: Sequence[int], case: Case) -> str:
    return ", ".join(case.item(number).name for number in numbers)
