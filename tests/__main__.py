"""Runs all tests in three processes: those of the window in one, the others in two.

    python -m tests [options of pytest]

A window under test must not share the keyboard with another, and it often waits. The two others
claim a module before they run it, so none runs twice. What they said follows when all are done,
and one line for all.
"""

import os
import re
import subprocess
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

ROOT = Path(__file__).parent.parent
COUNT = re.compile(r"(\d+) (passed|failed|error|skipped|xfailed|xpassed)")


def main(options: list[str]) -> int:
    """Run them and return 0 when all passed."""
    began_s = time.monotonic()
    no_screen = {name: value for name, value in os.environ.items() if name != "DISPLAY"}
    others = ["tests", "--ignore=tests/app"]
    with tempfile.TemporaryDirectory(prefix="tests-") as place:
        run = [sys.executable, "-m", "pytest", f"--claims={place}", *options]
        shares = ((["tests/app"], os.environ), (others, no_screen), (others, no_screen))
        processes = []
        for i, (tests, environment) in enumerate(shares):
            with Path(place, f"said {i}").open("w", encoding="utf-8") as said:
                processes.append(
                    subprocess.Popen([*run, *tests], cwd=ROOT, stdout=said, env=environment)
                )
        code = max(process.wait() for process in processes)
        papers = [Path(place, f"said {i}").read_text("utf-8") for i in range(len(shares))]
    counts = Counter[str]()
    for words in papers:
        print(words)
        last = words.rstrip().rpartition("\n")[2]
        counts.update({kind: int(n) for n, kind in COUNT.findall(last)})
    took = f"{time.monotonic() - began_s:.0f} s"
    print("In all:", ", ".join(f"{n} {kind}" for kind, n in counts.items()), "in", took)
    return code


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
