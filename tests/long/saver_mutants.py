"""Would a test notice a saver that loses something? python -m tests.long.saver_mutants

Each of the ways below in which a saver can lie is built into a copy of the package, and the tests
that every run of the suite holds are run on it. One that no test notices is printed, and the exit
code is 1.
"""

import os
import shutil
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
FILES, SQUAD, OPEN_RUN = (f"tapmark/store/{name}.py" for name in ("files", "squad", "open_run"))
STORE = tuple(
    f"tests/store/test_{name}.py" for name in ("files", "open_run", "lock", "schema", "squad")
)
ON_DISK = "tests/app/test_unsaved.py::test_a_tap_is_on_the_disk_before_anybody_is_told_of_it"
WRITE = """        _write_new(part, data)
        disk.move_into_place(part, path, patience_s)
"""


@dataclass(frozen=True)
class Mutant:
    """One lie: in a file, the lines that go and those that come; tests: what should notice."""

    name: str
    file: str
    goes: str
    comes: str
    tests: tuple[str, ...] = STORE


MUTANTS = (
    Mutant("in place", FILES, WRITE, "        path.write_bytes(data)\n"),
    Mutant(
        "rename first",
        FILES,
        WRITE,
        """        _write_new(part, b"")
        disk.move_into_place(part, path, patience_s)
        path.write_bytes(data)
""",
    ),
    Mutant(
        "unlink first",
        FILES,
        WRITE,
        """        _write_new(part, data)
        path.unlink(missing_ok=True)
        disk.move_into_place(part, path, patience_s)
""",
    ),
    Mutant(
        "acknowledge before write",
        "tapmark/app/state/session.py",
        """            self.session.save(old, new, amend)
        self.notify()
""",
        """            self.notify()
            self.session.save(old, new, amend)
""",
        (ON_DISK,),
    ),
    Mutant(
        "acknowledge before write, in the store",
        OPEN_RUN,
        "        kept = self._squad",
        "        self.run = run\n        kept = self._squad",
    ),
    Mutant("skipped save", SQUAD, "        files.write_bytes(path, data, patience_s)\n", ""),
    Mutant(
        "skipped save, where the size stays",
        SQUAD,
        "        files.write_bytes(path, data, patience_s)\n",
        """        if not path.exists() or path.stat().st_size != len(data):
            files.write_bytes(path, data, patience_s)
""",
    ),
    Mutant(
        "leftovers",
        FILES,
        "            part.unlink(missing_ok=True)\n        ref",
        "            pass\n        ref",
    ),
    Mutant(
        "swallowed errors",
        FILES,
        "            part.unlink(missing_ok=True)\n        refuse_write(path, error)\n",
        "            part.unlink(missing_ok=True)\n",
    ),
    Mutant("no fsync", FILES, "        os.fsync(handle)\n    finally", "        pass\n    finally"),
    Mutant(
        "no folder flush",
        FILES,
        "patience_s)\n        _flush_folder(path.parent)\n",
        "patience_s)\n",
    ),
    Mutant(
        "fsync after rename",
        FILES,
        """        os.fsync(handle)
    finally:
        os.close(handle)


def _flush_folder(folder: Path) -> None:
""",
        """        pass
    finally:
        os.close(handle)


def _flush_folder(folder: Path) -> None:
    for path in folder.glob("*.json"):
        late = os.open(path, os.O_RDWR)
        os.fsync(late)
        os.close(late)
""",
    ),
    Mutant(
        "no lock",
        "tapmark/store/lock.py",
        "            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)\n",
        "            pass\n",
    ),
    Mutant(
        "strangers not kept",
        "tapmark/store/schema.py",
        "    return replace(value, extra=extra) if extra else value\n",
        "    return value\n",
    ),
    Mutant(
        "versions of others not kept",
        SQUAD,
        "        kept = self._keep_strangers(path, data)\n",
        "        kept = None\n",
    ),
)


def is_noticed(mutant: Mutant) -> bool:
    """Run the tests on a copy that lies; raise AssertionError when its lines are not there."""
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "copy"
        shutil.copytree(ROOT, copy, ignore=shutil.ignore_patterns(".git", "__pycache__", ".*cache"))
        path = copy / mutant.file
        source = path.read_text("utf-8")
        assert source.count(mutant.goes) == 1, f"{mutant.name}: its lines are not in {mutant.file}"
        path.write_text(source.replace(mutant.goes, mutant.comes), "utf-8")
        done = subprocess.run(
            [sys.executable, "-m", "pytest", "-q", "-x", "-p", "no:cacheprovider", *mutant.tests],
            cwd=copy,
            env={**os.environ, "PYTHONPATH": str(copy)},
            capture_output=True,
            encoding="utf-8",
            check=False,
        )
    assert done.returncode in (0, 1), done.stdout + done.stderr
    return done.returncode == 1


def main() -> int:
    alive = []
    for mutant in MUTANTS:
        noticed = is_noticed(mutant)
        print(f"{mutant.name:40} {'noticed' if noticed else 'NOT NOTICED'}", flush=True)
        if not noticed:
            alive.append(mutant.name)
    print(f"{len(MUTANTS) - len(alive)} of {len(MUTANTS)} noticed")
    return 1 if alive else 0


if __name__ == "__main__":
    sys.exit(main())
