"""Do the tests of values and files pass with the oldest libraries allowed, and with the newest?

    python -m tests.long.libraries [PYTHON …]

For each Python named (default: this one) a fresh environment is made twice: with every lower bound
of pyproject.toml taken exactly, and with whatever is newest. Needs a package index for pip.
"""

import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

from tests.long.packaging import environment, ran

ROOT = Path(__file__).parents[2]
FAST = ("-q", "-p", "no:cacheprovider", "-m", "not window and not long")


def main(pythons: list[str]) -> None:
    """Print a line for each set and Python; raise SystemExit(1) where a test failed."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    newest = [*project["dependencies"], *project["optional-dependencies"]["test"]]
    sets = {"oldest": [bound.replace(">=", "==") for bound in newest], "newest": newest}
    failed = False
    with tempfile.TemporaryDirectory(prefix="tapmark-libraries-") as name:
        for i, python in enumerate(pythons or [sys.executable]):
            for age, wanted in sets.items():
                own = environment(python, Path(name) / f"{i}-{age}")
                ran(ROOT, own, "-m", "pip", "install", "-q", *wanted)
                tested = subprocess.run(
                    [own, "-m", "pytest", *FAST], cwd=ROOT, capture_output=True, encoding="utf-8"
                )
                version = ran(ROOT, own, "--version").strip()
                print(f"{version}, {age}: {tested.stdout.rstrip().splitlines()[-1]}", flush=True)
                failed |= tested.returncode != 0
    if failed:
        raise SystemExit(1)


if __name__ == "__main__":
    main(sys.argv[1:])
