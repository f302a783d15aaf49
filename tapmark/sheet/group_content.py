"""What the group page is made of: codes, words and dates for the coach's eyes; no picture, no sum.

Lines stand in the order of their codes: nobody is ranked.
"""

from dataclasses import dataclass

from tapmark.checklist.words import Words


@dataclass(frozen=True)
class GroupLine:
    """One athlete at the last visit that was marked.

    group:     event group, as the coach typed it.
    dated:     ISO date of that visit, "" when there is none.
    words:     the verdicts of items 1 to 18 in order; empty when there is no visit to read.
    works_on:  items in the slots; empty where care forbids priorities.
    root:      the item that the chain of the first slot probably starts with, or None.
    again:     items that can't be told: film again.
    is_due:    not filmed for longer than the squad's weeks, or never.
    note:      what to do first, in a few words, "" when nothing is in the way.
    """

    code: str
    group: str = ""
    dated: str = ""
    words: tuple[str, ...] = ()
    works_on: tuple[int, ...] = ()
    root: int | None = None
    again: tuple[int, ...] = ()
    is_due: bool = False
    note: str = ""


@dataclass(frozen=True)
class GroupContent:
    """A squad on one day, ready to be set; "coach only, do not pin up".

    name:      of the squad.
    dated:     ISO date of the day it is made.
    common:    the item that is most often the root now; several when they come alike.
    groups:    (item, codes) of those who share a root, two or more, and may do its drills.
    evenings:  codes of those who are due and may be filmed, spread over evenings.
    again:     codes of those who have a graded item that can't be told.
    left_out:  sentences about those who are not on the page, to be told beside it, never on it.
    """

    name: str
    dated: str
    lines: tuple[GroupLine, ...]
    words: Words
    common: tuple[int, ...] = ()
    groups: tuple[tuple[int, tuple[str, ...]], ...] = ()
    evenings: tuple[tuple[str, ...], ...] = ()
    again: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()
    paper: str = "a4"
