"""Names of files: safe to show to a person, safe to hand to a program."""

import os
from pathlib import Path

from tapmark import disk

LONGEST_SHOWN = 60
WINDOWS_LIMIT = 248
"""Windows refuses longer paths unless they carry the prefix below (its own limit is 260)."""


def shown_name(path: Path) -> str:
    """Return the file's name as a person may read it in one line, at most 60 signs.

    Line breaks, control signs and bytes that are no text become "?", so the name can neither
    break a terminal nor fail to print.
    """
    text = disk.printable(path.name or str(path))
    if len(text) > LONGEST_SHOWN:
        half = LONGEST_SHOWN // 2 - 1
        text = f"{text[:half]}…{text[-half:]}"
    return text


def reading_path(path: Path) -> str:
    """Return the absolute path for ffmpeg: never an option, never an address, never a pattern.

    A path that starts at the root cannot begin with a dash or a protocol name. Links are kept.
    """
    return long_path(os.path.abspath(path), is_windows=os.name == "nt")  # noqa: PTH100


def long_path(absolute: str, *, is_windows: bool) -> str:
    """Return the path with the prefix that Windows wants for long ones."""
    if not is_windows or len(absolute) < WINDOWS_LIMIT or absolute.startswith("\\\\?\\"):
        return absolute
    if absolute.startswith("\\\\"):
        return "\\\\?\\UNC\\" + absolute[2:]
    return "\\\\?\\" + absolute
