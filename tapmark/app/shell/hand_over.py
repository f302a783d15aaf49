"""Hand a finished file to the system: show it, or print it. Only files that we wrote.

Printing goes to the usual printer: by the shell verb "print" on Windows, by lp or lpr elsewhere
(macOS has both). Where no printer takes it, the file opens in its viewer to be printed from there.
"""

import os
import subprocess
import sys
from pathlib import Path
from typing import Final

from tapmark.errors import CannotWrite

SPOOLERS: Final = ("lp", "lpr")
LONGEST_S: Final = 10.0  # a spooler that asks or hangs is given up


def open_file(path: Path) -> None:
    """Show a file with the program that the system has for it; raise CannotWrite."""
    if not _is_shown(path):
        raise CannotWrite(
            f"Nothing on this computer opens “{path.name}”. "
            f"It lies in “{path.parent}”: open it from there."
        )


def print_file(path: Path) -> None:
    """Send a file to the usual printer.

    Raises CannotWrite when no printer takes it; the file then stands open in its viewer, or the
    text says where it lies.
    """
    if _is_printed(path):
        return
    if _is_shown(path):
        raise CannotWrite(f"No printer took “{path.name}”. It is open now: print it from there.")
    raise CannotWrite(
        f"No printer took “{path.name}”, and nothing here opens it. "
        f"It lies in “{path.parent}”: print it from another computer."
    )


def _is_printed(path: Path) -> bool:
    if sys.platform == "win32":
        return _is_started(path, "print")
    return any(_is_taken([program, str(path)]) for program in SPOOLERS)


def _is_shown(path: Path) -> bool:
    if sys.platform == "win32":
        return _is_started(path, "open")
    program = "open" if sys.platform == "darwin" else "xdg-open"
    try:
        subprocess.Popen(
            [program, str(path)],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
    except OSError:
        return False
    return True


def _is_started(path: Path, verb: str) -> bool:
    """Use a verb of the Windows shell; False where no program has it for this kind of file."""
    try:
        os.startfile(path, verb)  # type: ignore[attr-defined,unused-ignore]
    except OSError:
        return False
    return True


def _is_taken(words: list[str]) -> bool:
    """Return whether a spooler took a file: it is there, does not hang and reports no trouble."""
    try:
        done = subprocess.run(
            words, stdin=subprocess.DEVNULL, capture_output=True, timeout=LONGEST_S, check=False
        )
    except (OSError, subprocess.TimeoutExpired):
        return False
    return done.returncode == 0
