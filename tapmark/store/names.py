"""Names that become folders and files: codes, dates, run names, and the copies set aside.

A code must be a safe folder name on every system a squad may be copied to, so it is short, plain
letters and figures, no word that Windows keeps for itself, and never differs from another one by
case alone.
"""

import re
from collections.abc import Iterable
from pathlib import Path

from tapmark.errors import AlreadyThere, NotThere, StoreError
from tapmark.kinds import is_day
from tapmark.store.shown import shown_text

LONGEST_CODE = 12
PART = ".part"  # a file half written
LOCK = ".lock"
MERGING = "merging"  # the folder of a merge that is all ready and goes into its place
DELETING = "deleting.json"  # whom a deletion that has begun is about

_CODE = re.compile(r"(?=[0-9_-]*[A-Za-z])[A-Za-z0-9][A-Za-z0-9_-]{0,11}")
_LIKE_A_NAME = re.compile(r"[A-Za-z]{5,}")
_RUN = re.compile(r"run-([1-9][0-9]{0,4})")
_ASIDE = re.compile(r".+\.(damaged|elsewhere)-[0-9]{4}-[0-9]{2}-[0-9]{2}-[0-9]{6}(-[0-9]+)?\.json")
_KEPT_BY_WINDOWS = {"con", "prn", "aux", "nul"} | {
    f"{port}{i}" for port in ("com", "lpt") for i in range(10)
}


def is_kept_by_windows(text: str) -> bool:
    """Say whether Windows keeps a word for its devices, whatever the ending."""
    return text.lower() in _KEPT_BY_WINDOWS


def is_code(text: str) -> bool:
    """Say whether the text can be the folder of an athlete on every system."""
    return bool(_CODE.fullmatch(text)) and not is_kept_by_windows(text)


def check_code(text: str) -> str:
    """Return the code; raise StoreError with the reason when it cannot be one."""
    if is_kept_by_windows(text):
        raise StoreError(
            f"“{shown_text(text)}” cannot be a code: Windows keeps that word for itself. "
            "Choose another one, such as K07."
        )
    if not is_code(text):
        raise StoreError(
            f"“{shown_text(text)}” cannot be a code. Use 1 to {LONGEST_CODE} plain letters and "
            "figures, one letter at least, such as K07 or JM-12; no blanks, dots or accents."
        )
    return text


def check_new_code(text: str, taken: Iterable[str]) -> str:
    """Return a code that may be added to those taken.

    Raises StoreError for a code that cannot be one or looks like a person's name, AlreadyThere
    when it is taken, be it in other case.
    """
    check_code(text)
    if _LIKE_A_NAME.search(text):
        raise StoreError(
            f"“{text}” looks like a name. Use initials or a code such as K07: the code stands "
            "in file names and on paper."
        )
    for other in taken:
        if other.lower() == text.lower():
            raise AlreadyThere(
                f"The squad has the code “{other}” already. Choose another one; "
                "capital and small letters count as the same."
            )
    return text


def check_day(text: str) -> str:
    """Return the date in the form 2026-05-14; raise StoreError when it is none."""
    if not is_day(text):
        raise StoreError(f"“{shown_text(text)}” is not a date. Write it like 2026-05-14.")
    return text


def check_run_name(text: str) -> str:
    """Return a run's name such as run-1; raise NotThere when no run can be called so."""
    if not _RUN.fullmatch(text):
        raise NotThere(
            f"“{shown_text(text)}” is not the name of a run. Runs are called run-1, run-2 …."
        )
    return text


def run_number(name: str) -> int:
    """Return the number in a run's name; 0 for a name that is none."""
    match = _RUN.fullmatch(name)
    return int(match[1]) if match else 0


def next_run_name(taken: Iterable[str]) -> str:
    """Return the name after the highest one taken."""
    return f"run-{max((run_number(name) for name in taken), default=0) + 1}"


def is_set_aside(path: Path) -> bool:
    """Say whether a file is a copy that we set aside, damaged or changed elsewhere."""
    return bool(_ASIDE.fullmatch(path.name))


def is_leftover(path: Path) -> bool:
    """Say whether a file is a lock, half written or of a deletion that has not ended.

    Such a file is never part of a squad's contents.
    """
    return path.name.endswith((PART, LOCK)) or path.name == DELETING
