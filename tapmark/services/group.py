"""A squad at a glance for the coach: codes and items as words, who shares a root, who is due.

Codes only, in their order: no ranking and no score of anybody; an item is counted, not a person.
Who did not agree is left out and told beside the page. Each athlete is measured once, at the last
visit that was marked.
"""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from tapmark.checklist.verdict import CANT_TELL
from tapmark.checklist.words import Words
from tapmark.errors import NoConsent, NotThere
from tapmark.marks.people import Athlete
from tapmark.report.pages.content import GroupContent, GroupLine
from tapmark.report.pages.group_page import group_html, group_pages
from tapmark.report.pages.pdf import pdf_bytes
from tapmark.services.consent import file_name, who_goes_out, write_pair_out
from tapmark.services.places import criteria_of
from tapmark.services.squads import open_for_work
from tapmark.services.visits import VisitReading, latest_readings
from tapmark.store.rota import RotaLine, drill_groups, due, evenings, rota
from tapmark.store.squad import Squad, Troubles

FEWEST_TO_SHARE = 2


@dataclass(frozen=True)
class _Read:
    """One athlete, the last marked visit (None = never), and what could not be read of it."""

    athlete: Athlete
    reading: VisitReading | None
    trouble: str = ""


def group_of(
    squad: Squad, today: date, paper: str = "a4", troubles: Troubles | None = None
) -> GroupContent:
    """Return the group page's content; nobody without consent is in it.

    troubles: files that cannot be read are put there; what can be read is shown.
    """
    found: Troubles = [] if troubles is None else troubles
    athletes, left_out = who_goes_out("group sheet", squad, today, found)
    waiting = {line.code: line for line in rota(squad, today.isoformat(), found)}
    read = [_read(squad, athlete, today, found) for athlete in athletes]
    roots = {each.athlete.code: root for each in read if (root := _root(each, today))}
    criteria = criteria_of(squad)
    words = criteria.words
    lines = tuple(_line(each, roots, waiting[each.athlete.code], words) for each in read)
    shown = {line.code for line in lines}
    late = due([line for line in waiting.values() if line.code in shown])
    filmed = evenings(late, squad.choices.per_evening) if late else ()
    counts = Counter(roots.values())
    most = max(counts.values(), default=0)
    groups = tuple(g for g in drill_groups(roots) if len(g[1]) >= FEWEST_TO_SHARE)
    return GroupContent(
        name=squad.choices.name or squad.folder.name,
        dated=today.isoformat(),
        lines=lines,
        words=words,
        common=tuple(sorted(n for n in counts if counts[n] == most >= FEWEST_TO_SHARE)),
        groups=groups,
        evenings=tuple(tuple(line.code for line in evening) for evening in filmed),
        again=tuple(line.code for line in lines if line.again),
        left_out=left_out,
        drills={
            n: tuple(words.drill(key, True).name for key in criteria.items[n - 1].drills)
            for n, _ in groups
        },
        paper=paper,
    )


def _read(squad: Squad, athlete: Athlete, today: date, troubles: Troubles) -> _Read:
    found: Troubles = []
    reading = next(latest_readings(squad, athlete.code, today, found), None)
    troubles.extend(found)
    is_damaged = not all(isinstance(each, NotThere) for each in found)
    trouble = criteria_of(squad).words.say("group.unreadable") if is_damaged else ""
    return _Read(athlete, reading, trouble)


def _root(each: _Read, today: date) -> int | None:
    """Return where the chain of what is worked on now probably starts; None for nothing now."""
    reading = each.reading
    if reading is None or reading.assessment.blocked or not reading.assessment.slots:
        return None
    n_days = (today - date.fromisoformat(reading.visit.dated)).days
    if n_days > reading.criteria.choice.keep_days:
        return None
    first = reading.assessment.slots[0]  # a coach's idea is no root
    return (first.starts_with or (first.item.number,))[0] if first.item.is_sure else None


def _line(each: _Read, roots: Mapping[str, int], waiting: RotaLine, words: Words) -> GroupLine:
    reading = each.reading
    items = reading.assessment.items if reading else ()
    again = (item for item in items if item.word == CANT_TELL and not item.is_result)
    note = each.trouble  # why somebody has no drills is nobody else's business
    if not note and reading is None:
        note = words.say("group.first_visit")
    elif not note and reading and reading.assessment.blocked:
        note = words.say("group.ask_first")
    return GroupLine(
        code=each.athlete.code,
        group=each.athlete.group,
        dated=reading.visit.dated if reading else "",
        words=tuple(item.word for item in items),
        works_on=tuple(s.item.number for s in reading.assessment.slots) if reading else (),
        root=roots.get(each.athlete.code),
        again=tuple(item.number for item in again),
        is_due=waiting.is_due,
        note=note,
    )


def write_groups(
    folders: Sequence[Path], paper: str, today: date, say: Callable[[str], None]
) -> Iterator[Path]:
    """Write the group sheet of each squad and yield its file; say who is not on it."""
    for folder in folders:
        opened = open_for_work(folder, today)
        path, told = write_group(opened.squad, today, paper)
        for words in (*opened.notices, *told):
            say(words)
        yield path


def write_group(squad: Squad, today: date, paper: str = "a4") -> tuple[Path, tuple[str, ...]]:
    """Write the group sheet as PDF and HTML into the squad's folder.

    Returns the PDF and sentences about what is not on it. Raises NoConsent when nobody may be on
    it, CannotWrite.
    """
    troubles: Troubles = []
    content = group_of(squad, today, paper, troubles)
    told = (*content.left_out, *dict.fromkeys(map(str, troubles)))
    if not content.lines:
        raise NoConsent(f"Nobody may be on a group sheet yet. {' '.join(told[:3])}".strip())
    codes = tuple(line.code for line in content.lines)
    title = content.words.say("group.title", date=content.dated)
    pdf = pdf_bytes(group_pages(content), title)
    path = squad.folder / file_name(("group",), "sheet", content.dated, ".pdf")
    html = group_html(content).encode()
    kinds = ("group sheet", "group sheet")
    return write_pair_out(kinds, squad, codes, path, (pdf, html), today), told
