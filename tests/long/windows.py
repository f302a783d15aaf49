"""What holds on Windows, real or under Wine?

    python -m tests.long.windows [--times N] [--demo FOLDER] [PART …]

A part is a room (a folder of tests, or "root" for those beside them), a file of tests, "saves",
"kills", "demo" or "pages"; default all but single files. With a Windows Python: runs the tests of
each room or file in a process of its own and prints what passed, failed and was skipped, and what
failed by name (what pytest said is kept in "windows-words", to the last test of one that ended
itself or was stopped after an hour); saves a run N times (1,000)
beside a program that reads it; ends the marking N ÷ 10 times by TerminateProcess; makes the demo
and prints two SHA-256, of its table and of all its files, which are to be compared with those that
the same part prints on another system (FOLDER: a demo made there; every file is then compared); and
saves a picture of each page of the window, to be looked at, in "windows-pages". Under Wine the
output has to go through a pipe.
"""

import argparse
import hashlib
import re
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from tapmark.errors import StoreError
from tapmark.store.squad import open_squad
from tests.long.kills import kill_many
from tests.long.marking import WHERE, after_each_tap, fresh_squad

ROOT = Path(__file__).parents[2]
ROOMS = (
    "root", "geometry", "marks", "measures", "checklist", "report", "clip", "store", "services",
    "drawn_runner", "app",
)  # fmt: skip
PARTS = ("saves", "kills", "demo", "pages")
READER = """
import sys, time
while True:
    try:
        with open(sys.argv[1], "rb") as file:
            file.read()
    except OSError:
        pass
"""
LIMIT_S = 3_600
STOPPED = "by us"


def main(parts: tuple[str, ...], times: int, other: Path | None) -> None:
    """Print the tables; raise SystemExit(1) where something does not hold."""
    does: dict[str, Callable[[], int]] = {
        "saves": lambda: saves_beside_a_reader(times),
        "kills": lambda: kills(times // 10),
        "demo": lambda: demo(other),
        "pages": pages,
    }
    if sum([does[part]() if part in does else tested(part) for part in parts]):
        raise SystemExit(1)


def tested(part: str) -> int:
    """Run the tests of a room or file, print its line, and return whether they did not all pass.

    A process that ends itself, or is stopped, has no line of pytest's at the end: its last is told.
    """
    places = sorted(str(path) for path in (ROOT / "tests").glob("test_*.py"))
    if part != "root":
        places = [f"tests/{part}" if part in ROOMS else part]
    command = [sys.executable, "-m", "pytest", "-v", "--capture=sys", "-p", "no:cacheprovider"]
    kept = Path("windows-words", part.replace("/", "-") + ".txt")
    kept.parent.mkdir(exist_ok=True)
    began_s = time.monotonic()
    with kept.open("wb") as said:
        try:
            ended = subprocess.run(
                [*command, "-rf", *places],
                cwd=ROOT,
                stdin=subprocess.DEVNULL,
                stdout=said,
                stderr=said,
                timeout=LIMIT_S,
            ).returncode
        except subprocess.TimeoutExpired:
            ended = STOPPED
    words = kept.read_text("utf-8", "replace")
    last = words.rstrip().rpartition("\n")[2]
    print(f"{part:14} {last}  (ended {ended}, {time.monotonic() - began_s:.0f} s)", flush=True)
    for name in re.findall(r"^(?:FAILED|ERROR) (\S+)", words, re.MULTILINE):
        print(f"    {name}", flush=True)
    return ended != 0 or " passed" not in last


def kills(n: int) -> int:
    """End the marking n times; raise AssertionError where a tap was lost."""
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        outcomes = kill_many(n, 1, Path(folder) / "squad")
    torn = sum(outcome.left_half for outcome in outcomes)
    print(f"{n} times ended while marking: no tap lost, {torn} with a half file beside", flush=True)
    return 0


def demo(other: Path | None) -> int:
    """Make the demo and say what its files are; return how many differ from those of another.

    since.txt holds the day on which it was made and is left out.
    """
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as name:
        folder = Path(name) / "demo"
        command = [sys.executable, "-m", "tapmark", "demo", str(folder), "--no-window"]
        subprocess.run(command, cwd=ROOT, check=True, stdout=subprocess.PIPE)
        made, there = contents(folder), contents(other) if other else {}
    print(f"measures.csv of the demo: SHA-256 {hashlib.sha256(made['measures.csv']).hexdigest()}")
    whole = hashlib.sha256()
    for way in sorted(made):
        whole.update(way.encode() + b"\0" + hashlib.sha256(made[way]).digest())
    print(f"all {len(made)} files of the demo: SHA-256 {whole.hexdigest()}", flush=True)
    if not other:
        return 0
    differ = [way for way in sorted(made.keys() | there.keys()) if made.get(way) != there.get(way)]
    print(f"{len(differ)} files differ from the demo in {other}", *differ, sep="\n    ", flush=True)
    return len(differ)


def contents(folder: Path) -> dict[str, bytes]:
    """Return way below the folder -> bytes of every file of a demo that is to be compared."""
    files = (path for path in folder.rglob("*") if path.is_file() and path.name != "since.txt")
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in files}


def pages() -> int:
    """Save pictures of the window at 96 and at 144 dots an inch."""
    for dots in (96, 144):
        folder = Path("windows-pages", str(dots))
        command = [sys.executable, "-m", "tests.app.look_at", str(folder), str(dots)]
        subprocess.run(command, cwd=ROOT, check=True)
        print(f"{len(list(folder.glob('*.png')))} pictures in {folder}", flush=True)
    return 0


def saves_beside_a_reader(n: int) -> int:
    """Save a run n times while another program opens it again and again; return the refusals."""
    refused = 0
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        fresh_squad(Path(folder) / "squad")
        squad = open_squad(Path(folder) / "squad")
        path = squad.run_path(*WHERE)
        reader = subprocess.Popen([sys.executable, "-c", READER, str(path)])
        runs = list(after_each_tap())
        try:
            for i in range(n):
                try:
                    squad.save_run(*WHERE, replace(runs[i % len(runs)], marked_by=f"{i % 90 + 10}"))
                except StoreError as trouble:
                    refused += 1
                    print(trouble)
        finally:
            reader.kill()
            reader.wait()
        squad.load_run(*WHERE)
    print(f"{n} saves beside a program that reads: {refused} refused", flush=True)
    return refused


if __name__ == "__main__":
    read = argparse.ArgumentParser()
    read.add_argument("parts", nargs="*", metavar="PART")
    read.add_argument("--times", type=int, default=1_000)
    read.add_argument("--demo", type=Path)
    told = read.parse_args()
    for part in told.parts:
        if part not in (*ROOMS, *PARTS) and not (ROOT / part).is_file():
            read.error(f"{part} is no part and no file of tests: {', '.join((*ROOMS, *PARTS))}")
    main(tuple(told.parts) or (*ROOMS, *PARTS), told.times, told.demo)
