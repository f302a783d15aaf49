"""The program that tests.long.kills_in_copies kills; it reads little, for many are started."""

import os
import signal
import sys
import threading
from datetime import date
from pathlib import Path

from tapmark.cli import main as tapmark
from tapmark.cli import write_plainly
from tapmark.services.copies import put_together

DAY = date(2026, 6, 1)
CHANGES = {"os.rename", "os.remove", "os.mkdir", "os.rmdir", "os.link", "os.truncate"}
AT_ONCE = getattr(signal, "SIGKILL", signal.SIGTERM)  # which ends as hard on Windows
FOR_WRITING = os.O_WRONLY | os.O_RDWR | os.O_CREAT


def die_at(folder: Path, nth: int, delay_s: float) -> list[int]:
    """Let this program die at its nth change of a file in a folder; return the count so far."""
    count = [0]

    def watch(event: str, arguments: tuple[object, ...]) -> None:
        if event not in CHANGES and not _is_opened_for_writing(event, arguments):
            return
        if not str(arguments[0]).startswith(str(folder)):
            return
        count[0] += 1
        if count[0] != nth:
            return
        if not delay_s:
            os.kill(os.getpid(), AT_ONCE)
        threading.Timer(delay_s, os.kill, (os.getpid(), AT_ONCE)).start()

    sys.addaudithook(watch)
    return count


def _is_opened_for_writing(event: str, arguments: tuple[object, ...]) -> bool:
    return event == "open" and isinstance(arguments[2], int) and bool(arguments[2] & FOR_WRITING)


def victim(folder: Path, nth: int, delay_s: float, words: list[str]) -> None:
    """Do one thing and die on the way; say how many changes it took if it got through."""
    write_plainly()
    count = die_at(folder, nth, delay_s)
    if words[0] == "merge":
        put_together(Path(words[1]), Path(words[2]), DAY, {})
    else:
        assert tapmark(words) == 0
    print(f"changes {count[0]}")


if __name__ == "__main__":
    victim(Path(sys.argv[1]), int(sys.argv[2]), float(sys.argv[3]), sys.argv[4:])
