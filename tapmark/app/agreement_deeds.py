"""Clips that two people marked: what differs, point by point and measure by measure."""

from collections.abc import Iterator

from tapmark.app.action import Action
from tapmark.app.desk import Desk
from tapmark.app.proposal import Line, Proposal, propose
from tapmark.app.squad_deeds import needs_squad
from tapmark.app.titles import several
from tapmark.app.verdict_rows import number
from tapmark.checklist.words import Words
from tapmark.errands.two_coaches import (
    RowAgreement,
    TwoMarkings,
    limits_of_agreement,
    marked_twice,
)
from tapmark.marks.days import run_words, short_day
from tapmark.measures.catalogue import row
from tapmark.store.shown import shown_text
from tapmark.store.squad import open_squad

MOST_TOLD = 14


def ask_twice(desk: Desk) -> None:
    """Look for clips that two people marked, beside the window."""
    folder, words = desk.state.folder, desk.criteria().words
    if folder:
        desk.state.said = "Looking for clips that two people marked …"
        desk.jobs.run(
            "copy",
            lambda task: marked_twice(open_squad(folder, [])),
            lambda found: propose(desk, twice_page(found, words)),
            desk.failed,
            by="squad",
        )


def twice_page(found: tuple[TwoMarkings, ...], words: Words) -> Proposal:
    """Return clips marked twice, then the limits of agreement where there are enough clips."""
    limits = limits_of_agreement(found)
    none = "No clip was marked by two people. Each needs initials: Squad, key Q, “Marked by”."
    return Proposal(
        "Marked by two people",
        (
            (
                f"{several(len(found), 'clip')} marked twice. Both markings stay; nothing is "
                "averaged. The difference is the second one less the first.",
            )
            if found
            else (none,)
        ),
        (("what", 14), ("who", 8), ("", 18)),
        (
            *(_clip_line(i, each, words) for i, each in enumerate(found)),
            *(_limits_line(i, each, words) for i, each in enumerate(limits)),
        ),
    )


def _clip_line(i: int, each: TwoMarkings, words: Words) -> Line:
    code, dated, name = each.first
    who = " and ".join(shown_text(marker) for marker in each.markers)
    apart = sum(pair.apart_pct_leg for pair in each.points) / max(1, len(each.points))
    said = (
        f"{several(len(each.points), 'point')}, {apart:.1f} % of a leg apart"
        if each.points
        else "no common picture"
    )
    return Line(
        f"clip {i}",
        (f"{code}, {short_day(dated)}, {run_words(name)}", who, said),
        "Clips",
        about=_about(each),
        table=tuple(_table(each, words)),
    )


def _about(each: TwoMarkings) -> str:
    others = ", ".join(each.other_pictures)
    chose = f" Other pictures were chosen for {others}: not compared." if others else ""
    worst = sorted(each.points, key=lambda pair: -pair.apart_pct_leg)[:3]
    far = ", ".join(f"{p.point} at {p.event} {p.apart_pct_leg:.1f} %" for p in worst)
    return f"{'Farthest apart: ' + far + ' of a leg.' if far else ''}{chose}"


def _table(each: TwoMarkings, words: Words) -> Iterator[tuple[str, ...]]:
    first, second = (shown_text(marker)[:6] for marker in each.markers)
    yield ("measure", "leg", first, second, "apart")
    for told in sorted(each.rows, key=lambda r: -abs(r.difference / r.plus_minus))[:MOST_TOLD]:
        digits = row(told.key).digits
        apart = f"{number(told.difference, digits)} ± {number(told.plus_minus, digits)}"
        values = (number(value, digits) for value in (told.by_a, told.by_b))
        yield (words.row(told.key), told.leg, *values, apart)


def _limits_line(i: int, each: RowAgreement, words: Words) -> Line:
    digits, found = row(each.key).digits, each.agreement
    low, bias, high = (number(v, digits) for v in (found.low, found.bias, found.high))
    foot = f", {each.leg}" if each.leg else ""
    return Line(
        f"limits {i}",
        (
            words.row(each.key) + foot,
            " and ".join(map(shown_text, each.markers)),
            f"{bias} on average, 95 % between {low} and {high}",
        ),
        "Limits of agreement (Bland and Altman)",
        about=(
            f"From {several(found.n, 'clip')}, in {row(each.key).shown_unit.strip()}. Where one of "
            "the two marks the first visit and the other the next, a change below "
            f"{number(each.smallest_change, digits)} says nothing."
        ),
    )


ACTIONS = (
    Action("marked twice", "Clips marked by two people", ask_twice, (), (), "Copies", needs_squad),
)
