"""What holds on Windows, real or under Wine?

    python -m tests.long.windows [N] [ROOM …]

With a Windows Python: runs the tests of each room (a folder of tests, or "root" for those beside
them; default all) in a process of its own and prints a table of what passed, failed and was
skipped, with the names of what failed; saves a run N times (1,000) beside a program that reads it;
ends the marking N ÷ 10 times by TerminateProcess; and makes the demo, whose table's SHA-256 is to
be compared with that of another system. Under Wine the output has to go through a pipe.
"""

import hashlib
import re
import subprocess
import sys
import tempfile
import time
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


def main(n: int, rooms: tuple[str, ...]) -> None:
    """Print the tables; raise SystemExit(1) where something does not hold."""
    failed = sum(tested(room) for room in rooms)
    refused = saves_beside_a_reader(n)
    print(f"{n} saves beside a program that reads: {refused} refused", flush=True)
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        outcomes = kill_many(n // 10, 1, Path(folder) / "squad")
    torn = sum(outcome.left_half for outcome in outcomes)
    print(f"{len(outcomes)} times ended while marking: no tap lost, {torn} with a half file beside")
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        demo = [sys.executable, "-m", "tapmark", "demo", folder + "/d", "--no-window"]
        subprocess.run(demo, cwd=ROOT, check=True, stdout=subprocess.PIPE)
        table = hashlib.sha256(Path(folder, "d", "measures.csv").read_bytes()).hexdigest()
    print(f"measures.csv of the demo: SHA-256 {table}")
    if failed or refused:
        raise SystemExit(1)


def tested(room: str) -> int:
    """Run the tests of one room, print its line, and return how many failed."""
    places = sorted(str(path) for path in (ROOT / "tests").glob("test_*.py"))
    command = [sys.executable, "-m", "pytest", "-q", "--capture=sys", "-p", "no:cacheprovider"]
    began_s = time.monotonic()
    with tempfile.TemporaryFile("w+", encoding="utf-8", errors="replace") as said:
        subprocess.run(
            [*command, "-rf", *(places if room == "root" else [f"tests/{room}"])],
            cwd=ROOT,
            stdin=subprocess.DEVNULL,
            stdout=said,
            stderr=said,
            timeout=LIMIT_S,
        )
        said.seek(0)
        words = said.read()
    last = words.rstrip().rpartition("\n")[2]
    print(f"{room:14} {last}  ({time.monotonic() - began_s:.0f} s)", flush=True)
    for name in re.findall(r"^(?:FAILED|ERROR) (\S+)", words, re.MULTILINE):
        print(f"    {name}", flush=True)
    return sum(map(int, re.findall(r"(\d+) (?:failed|error)", last)))


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
    return refused


if __name__ == "__main__":
    main(int(sys.argv[1]) if sys.argv[1:] else 1_000, tuple(sys.argv[2:]) or ROOMS)
