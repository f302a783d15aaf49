"""Two coaches, two copies: what differs is shown run by run, and the coach says what counts."""

from collections.abc import Iterator
from pathlib import Path

from tapmark.app.action import Action
from tapmark.app.desk import Desk
from tapmark.app.proposal import Choices, Line, Proposal, propose
from tapmark.app.squad_deeds import forget_run, needs_squad, use_squad
from tapmark.app.titles import several
from tapmark.app.verdict_rows import number
from tapmark.checklist.words import Words
from tapmark.errands import which_counts
from tapmark.errands.which_counts import (
    LEAVE,
    OURS,
    TAKE,
    THEIRS,
    BothSides,
    MergePlan,
    place_of,
)
from tapmark.marks.days import long_day, short_day
from tapmark.measures.catalogue import row
from tapmark.store.merge import CONFLICT, LEFT, SAFER, Difference
from tapmark.store.shown import shown_text

MOST_TOLD = 14


def ask_merge(desk: Desk) -> None:
    """Ask for the other copy and show what putting the two together would do."""
    ours = desk.state.folder
    theirs = desk.ask.folder("Put together: choose the folder of the other copy") if ours else None
    if ours is None or theirs is None:
        return
    now, words = desk.now().date(), desk.criteria().words
    desk.state.said = f"Comparing with “{theirs.name}” …"
    desk.jobs.run(
        "copy",
        lambda task: which_counts.plan(ours, theirs, now),
        lambda plan: propose(desk, proposal_of(plan, theirs, words)),
        desk.failed,
        stopped="Stopped. Nothing was changed.",
        by="squad",
    )


def proposal_of(plan: MergePlan, theirs: Path, words: Words) -> Proposal:
    """Return what putting together would do, conflicts first."""
    order = {CONFLICT: 0, SAFER: 1}
    differences = sorted(plan.differences, key=lambda each: order.get(each.kind, 2))
    n = sum(each.kind == CONFLICT for each in plan.differences)
    return Proposal(
        f"Put together with “{theirs.name}”",
        tuple(_about(plan, n)),
        (("athlete", 5), ("visit", 5), ("what differs", 20)),
        (
            *(_line(i, each, plan, words) for i, each in enumerate(differences)),
            *(_not_taken(words) for words in plan.left_out),
        ),
        "Put together" if differences else "",
        (lambda desk, choices: _merge(desk, theirs, tuple(differences), choices))
        if differences
        else None,
    )


def _about(plan: MergePlan, n_conflicts: int) -> Iterator[str]:
    if not plan.differences:
        yield "The two copies hold the same. There is nothing to put together."
    elif n_conflicts:
        yield (
            f"{several(n_conflicts, 'thing differs', 'things differ')} in both copies. Say which "
            "counts; the other one is kept beside it. Nothing is averaged, the other copy is only "
            "read."
        )
    else:
        yield "Nothing is in conflict. What only the other copy has comes in; it is only read."
    if plan.deleted:
        last = long_day(max(plan.deleted))
        yield (
            f"Somebody was deleted here, last on {last}. New athletes are left out unless you say "
            "otherwise, so that nobody comes back by mistake."
        )


def _line(i: int, each: Difference, plan: MergePlan, words: Words) -> Line:
    group = {CONFLICT: "Both have it, and differ", SAFER: "A no wins over a yes", LEFT: "Not taken"}
    both = plan.sides.get(place_of(each))
    said = each.words.split(": ", 1)[-1]
    return Line(
        str(i),
        (each.code, short_day(each.dated), said.split(". ")[0]),
        group.get(each.kind, "Only in the other copy"),
        _choices(each, plan),
        about=_told(both) if both else f"{ONLY_PAPER if _is_consent(each) else each.words}",
        table=tuple(_table(both, words)) if both else (),
    )


def _not_taken(words: str) -> Line:
    """Return a line for a sentence that begins with the code it is about."""
    code = words.split(maxsplit=1)[0].rstrip(":")
    told = words.removeprefix(code).lstrip(": ")
    return Line(f"left {words}", (code, "", told), "Not taken", about=words)


ONLY_PAPER = (
    "A yes is never taken over from another copy: enter it here from the paper. A no is taken over "
    "at once."
)


def _is_consent(each: Difference) -> bool:
    return each.kind == CONFLICT and each.words.endswith("differ in consents.")


def _choices(each: Difference, plan: MergePlan) -> tuple[str, ...]:
    if each.kind == CONFLICT and not _is_consent(each):
        return OURS, THEIRS
    if which_counts.is_new_athlete(each):
        return (LEAVE, TAKE) if plan.deleted else (TAKE, LEAVE)
    return ()


def _told(marked: BothSides) -> str:
    who = [shown_text(run.marked_by) or "nobody named" for run in (marked.ours, marked.theirs)]
    taps = [sum(1 for _ in run.taps()) for run in (marked.ours, marked.theirs)]
    apart = (
        f" Their taps lie {marked.apart_pct_leg:.1f} % of a leg apart on average."
        if marked.apart_pct_leg is not None
        else " They chose other pictures, so their taps are not compared."
    )
    return f"Here {taps[0]} taps by {who[0]}, there {taps[1]} by {who[1]}.{apart}"


def _table(marked: BothSides, words: Words) -> Iterator[tuple[str, ...]]:
    """Yield headings and rows: both values, the difference and how much marking allows."""
    yield ("measure", "leg", "here", "there", "apart")
    for each in sorted(marked.rows, key=lambda r: -abs(r.difference / r.plus_minus))[:MOST_TOLD]:
        digits = row(each.key).digits
        apart = f"{number(each.difference, digits)} ± {number(each.plus_minus, digits)}"
        values = (number(value, digits) for value in (each.by_a, each.by_b))
        yield (words.row(each.key), each.leg, *values, apart)


def _merge(desk: Desk, theirs: Path, differences: tuple[Difference, ...], choices: Choices) -> None:
    ours = desk.state.folder
    if ours is None:
        return
    forget_run(desk)
    chosen = {place_of(differences[int(key)]): choice for key, choice in choices.items()}
    done = which_counts.put_together(ours, theirs, desk.now().date(), chosen)
    use_squad(desk, ours)
    n = len(done)
    desk.state.said = f"Put together: {several(n, 'thing')} came in or is kept beside ours."
    desk.state.tell()


ACTIONS = (
    Action(
        "merge", "Put two copies of the squad together…", ask_merge, (), (), "Copies", needs_squad
    ),
)
