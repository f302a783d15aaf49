"""Why this one: sentences for the coach's copy; and what a page says where there is no task."""

from collections.abc import Iterator, Sequence

from tapmark.checklist.chain import may_start_with, starts_with
from tapmark.checklist.choose import (
    Case,
    Pick,
    limits,
    may_fill,
    ranked,
    related_to,
    told_along,
    why_disabled,
)
from tapmark.checklist.situation import still_runs
from tapmark.checklist.verdict import (
    CANT_TELL,
    FINE,
    LIKELY,
    NEAR_THE_LINE,
    NOT_MEASURED,
    PAST,
    SEEN,
    SHOWN,
    ItemVerdict,
)
from tapmark.checklist.words import Words
from tapmark.marks.people import Slot
from tapmark.measures.result import Results

MOST_UNCLEAR = 3  # names in one plain line: ours
FAST_HZ = 235.0  # phones that say 240 run a little under it: from memory
ENOUGH_PASSES = 3  # marked steps after which more passes help little: common practice, no source


def reasons(pick: Pick, case: Case, reach_drives: bool = False) -> tuple[str, ...]:
    """Return sentences that say why these slots were filled and others were not."""
    if pick.blocked:
        return (pick.blocked,)
    say = case.criteria.words.say
    told = [
        *(line for slot in pick.slots for line in _why_slot(slot, case)),
        *_own_choice(pick, case),
        *_why_no_more(pick, case),
        *_over(case),
        *_left_out(case),
        *((say("why.split_reach"),) if reach_drives else ()),
        *_unsure(pick, case),
        *((say("why.chance"),) if _is_by_rank(pick, case) else ()),
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


def _is_by_rank(pick: Pick, case: Case) -> bool:
    """Whether the rule ranked what stands there; a running priority was not picked today."""
    new = [slot for slot in pick.slots if slot not in case.situation.kept]
    return bool(new) and not pick.is_override


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


def _over(case: Case) -> Iterator[str]:
    for slot in case.situation.kept:
        item = case.item(slot.item)
        runs = still_runs(slot, case.situation.today, case.criteria.choice)
        if runs and item.word == FINE:
            yield case.criteria.words.say("why.kept_over", name=item.name)


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


def _unsure(pick: Pick, case: Case) -> Iterator[str]:
    unsure = [item.number for item in case.items if item.word == CANT_TELL and not item.is_result]
    if unsure:
        yield case.criteria.words.say("why.unsure", name=_names(unsure, case))


def _names(numbers: Sequence[int], case: Case) -> str:
    return ", ".join(case.item(number).name for number in numbers)
