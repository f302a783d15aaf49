"""A form as a value: which fields, what stands in them, what happens when it is saved.

Plain Python; `form_panel` shows any form. What cannot be used comes back as FieldTrouble, which
names the field, and stands below it until it is mended.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from tapmark.errors import TapmarkError
from tapmark.kinds import is_day
from tapmark.marks.days import iso_day

Entries = Mapping[str, str]
"""Field -> what was typed or chosen."""
YES, NO = "yes", "no"
_DOTTED = re.compile(r"(\d{1,2})\.(\d{1,2})\.(\d{4})")


class FieldTrouble(TapmarkError):
    """A field of a form holds something that cannot be used; field says which."""

    def __init__(self, field: str, words: str) -> None:
        super().__init__(words)
        self.field = field


@dataclass(frozen=True)
class Field:
    """One field.

    note:      a few quiet words below it.
    choices:   what can be chosen; () for a field to type in.
    is_fixed:  shown, cannot be changed.
    is_tick:   a box to tick; its entry is YES or NO.
    is_later:  shown when the form's one button for more is pressed.
    """

    key: str
    words: str
    note: str = ""
    choices: tuple[str, ...] = ()
    is_fixed: bool = False
    is_tick: bool = False
    is_later: bool = False


@dataclass(frozen=True)
class Form:
    """Fields, what stands in them, and what saving does.

    save:  may raise FieldTrouble or another TapmarkError; the form stays open then.
    first: the field that gets the keyboard.
    shortcuts: (label, entries): buttons that fill fields in one go, e.g. "All".
    """

    title: str
    about: str
    fields: tuple[Field, ...]
    entries: Entries
    save: Callable[[Entries], None]
    first: str
    shortcuts: tuple[tuple[str, Entries], ...] = ()


def number(text: str, field: str, what: str, low: float, high: float) -> float | None:
    """Return a typed number, comma or point; None for an empty field; raise FieldTrouble."""
    text = text.strip().replace(",", ".")
    if not text:
        return None
    try:
        value = float(text)
    except ValueError:
        raise FieldTrouble(field, f"“{text}” is no number for {what}.") from None
    if not low <= value <= high:
        raise FieldTrouble(field, f"{value:g} for {what} is not between {low:g} and {high:g}.")
    return value


def whole(text: str, field: str, what: str, low: int, high: int) -> int:
    """Return a typed whole number; raise FieldTrouble, also for an empty field."""
    text = text.strip()
    if not (text.isascii() and text.isdecimal() and low <= int(text) <= high):
        raise FieldTrouble(field, f"“{text}” for {what}: write a whole number, {low} to {high}.")
    return int(text)


def day_of(text: str, field: str) -> str:
    """Return a typed date as ISO text, "" for an empty field; raise FieldTrouble.

    14 May 2026, 14.5.2026 and 2026-05-14 are read; an order of day and month that could be another
    one is not.
    """
    text = text.strip()
    dotted = _DOTTED.fullmatch(text)
    iso = f"{dotted[3]}-{int(dotted[2]):02}-{int(dotted[1]):02}" if dotted else iso_day(text)
    if text and not is_day(iso):
        raise FieldTrouble(field, f"“{text}” is no date. Write it like 14 May 2026 or 14.5.2026.")
    return iso
