"""Feed damaged files to everything that reads one: python -m tests.long.fuzz [N] [SEED]

A mutator changes, cuts, doubles and splices the bytes of good files. Whatever comes in, a reader
gives a value or a TapmarkError, within two seconds of computing, and writes nothing outside its
folder. A case that breaks this is written to the temporary folder and named, to become a test.
"""

import random
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from tapmark.checklist import criteria
from tapmark.errors import TapmarkError
from tapmark.store import archive, files, import_csv, jpeg, schema, settings
from tapmark.store.lock import lock_path, take_lock
from tapmark.store.squad import open_squad
from tests.store import made
from tests.store.test_jpeg import jpeg as a_jpeg

LONGEST_S = 2.0
NOW = datetime(2026, 5, 14, 21, 0)
TODAY = "2026-05-14"
EXAMPLES = Path(__file__).parents[1] / "files" / "format2"
SPICE = [
    b"null", b"true", b"-1", b"1e999", b"NaN", b"1" * 400, b'"', b"{", b"[" * 60, b"}", b"]", b",",
    b"\\ud800", b"\x00", b"\xff\xfe", b"\xef\xbb\xbf", b"../", b"..\\", b"/", b"C:", b"=1+1", b";",
    b'"format": 2', b'"format": 0', b"touchdown", b"2026-02-30", b"\r", b"'", b"PK\x03\x04",
    b"PK\x01\x02", b"\xff\xd9", b"\xff\xda", b"#", b"[[", b"inf", b"'''", b"\x1b[2J",
]  # fmt: skip


@dataclass(frozen=True)
class Target:
    """Something that reads a file: good files to start from, and the reader."""

    name: str
    seeds: tuple[bytes, ...]
    read: Callable[[bytes, Path], object]
    share: int


def mutated(data: bytes, others: tuple[bytes, ...], dice: random.Random) -> bytes:
    """The bytes after one to six random changes."""
    for _ in range(dice.choice((1, 1, 1, 2, 3, 6))):
        at, length = dice.randint(0, len(data)), dice.choice((1, 1, 2, 8, 64, 1024))
        other = dice.choice(others)
        start = dice.randint(0, len(other))
        data = dice.choice(
            (
                data[:at] + bytes([dice.randrange(256)]) + data[at + 1 :],
                data[:at] + bytes([data[at] ^ 1 << dice.randrange(8)]) + data[at + 1 :]
                if at < len(data)
                else data,
                data[:at] + dice.choice(SPICE) + data[at:],
                data[:at] + dice.choice(SPICE) + data[at + length :],
                data[:at] + data[at + length :],
                data[:at],
                data[:at] + data[at : at + length] * dice.choice((2, 3, 40)) + data[at:],
                data[:at] + other[start : start + length] + data[at:],
            )
        )
    return data


def json_reader(from_plain: Callable[[object, str], object]) -> Callable[[bytes, Path], object]:
    """A reader as Squad has it, without the disk."""

    def read(data: bytes, folder: Path) -> object:
        return from_plain(files.json_value(data, "file.json"), "file.json")

    return read


def read_whole_squad(data: bytes, folder: Path) -> object:
    """Put the bytes in the place of a run and look through the squad."""
    squad = open_squad(folder / "squad")
    path = squad.run_path("K07", "2026-03-14", "run-1")
    path.write_bytes(data)
    try:
        return squad.load_run("K07", "2026-03-14", "run-1")
    finally:
        for copy in path.parent.glob("run-1.damaged-*"):
            copy.unlink()


def read_zip(data: bytes, folder: Path) -> object:
    """Check a back-up; one that passes is restored as well."""
    path = folder / "b.zip"
    path.write_bytes(data)
    archive.check_backup(path)
    restored = archive.restore(path, folder / "restored", NOW)
    opened = open_squad(restored.folder, [])
    (folder / "restored").rename(folder / f"restored {len(list(folder.iterdir()))}")
    return opened


def read_settings(data: bytes, folder: Path) -> object:
    (folder / "settings.json").write_bytes(data)
    return settings.load_settings(folder / "settings.json")


def read_lock(data: bytes, folder: Path) -> object:
    run_path = folder / "run-1.json"
    lock_path(run_path).write_bytes(data)
    take_lock(run_path, "fuzz", NOW).release()
    return None


def read_checks(data: bytes, folder: Path) -> object:
    (folder / "checks.toml").write_bytes(data)
    return criteria.load(folder / "checks.toml")


def read_csv(data: bytes, folder: Path) -> object:
    return import_csv.preview_athletes(data, ("A01",), TODAY)


def targets(folder: Path) -> tuple[Target, ...]:
    """Every reader of a file that may come from somebody else."""
    squad = made.squad_of(folder / "squad", ("K07",))
    archive.back_up(squad, folder / "good.zip", TODAY)
    table = b"code,born,group,leg cm,measured,notes\nK07,2009,sprint,86.5,2026-04-02,x\nM12,,,,,\n"
    wide = table.decode().replace(",", ";").replace("86.5", "86,5").encode("utf-16")
    shot = b'{"format": 1, "dated": "2026-05-14", "shots": [{"path": "a.mp4", "fingerprint": "a"}]}'
    choice = b'{"text_size": 1.2, "recent": ["/a", "/b"], "theme": "dark", "window": "9x9+1+1"}'
    held = b'{"program": "w", "pid": 7, "since": "2026-05-14T20:30", "file_number": 1}'
    bands = (
        b"format = 1\nedges = [[8, 1]]\n[rows.reach.sprint]\nfine_high = 8\nlimit_high = 13\n"
        b'dated = 2026-03-01\nreason = "ours"\n[words]\ndated = 2026-04-01\nreason = "ours"\n'
        b'[words.items.1]\ncue = "Quick"\n'
    )
    runs = tuple((EXAMPLES / f"run-{view}.json").read_bytes() for view in ("side", "rear"))
    example = {name: ((EXAMPLES / f"{name}.json").read_bytes(),) for name in _KINDS}
    return (
        Target("run.json", runs, json_reader(schema.RUN_FILE.read), 30),
        *(Target(f"{n}.json", example[n], json_reader(_KINDS[n]), 10) for n in _KINDS),
        Target("run.json on the disk", runs, read_whole_squad, 3),
        Target("shots.json", (shot,), json_reader(schema.SHOTS_FILE.read), 3),
        Target("settings.json", (choice,), read_settings, 3),
        Target("lock", (held,), read_lock, 2),
        Target("athletes.csv", (table, b"\xef\xbb\xbf" + table, wide), read_csv, 10),
        Target("checks.toml", (bands,), read_checks, 2),
        Target("back-up.zip", ((folder / "good.zip").read_bytes(),), read_zip, 8),
        Target("still.jpg", (a_jpeg(), a_jpeg(True)), lambda d, f: jpeg.without_metadata(d), 8),
    )


_KINDS = {
    "visit": schema.VISIT_FILE.read,
    "athlete": schema.ATHLETE_FILE.read,
    "squad": schema.SQUAD_FILE.read,
}


def fuzz(n_cases: int, seed: int) -> Iterator[tuple[str, Counter[str], float]]:
    """Yield (target, how often each kind of answer came, longest seconds) for each target."""
    with tempfile.TemporaryDirectory() as outside:
        folder = Path(outside) / "inside"
        folder.mkdir()
        all_targets = targets(folder)
        n_shares = sum(target.share for target in all_targets)
        for target in all_targets:
            n = max(1, n_cases * target.share // n_shares)
            yield target.name, *_fuzz_one(target, n, random.Random(f"{seed} {target.name}"), folder)
            assert [path.name for path in Path(outside).iterdir()] == ["inside"], "wrote outside"


def _fuzz_one(
    target: Target, n_cases: int, dice: random.Random, folder: Path
) -> tuple[Counter[str], float]:
    answers: Counter[str] = Counter()
    longest_s = 0.0
    for _ in range(n_cases):
        data = mutated(dice.choice(target.seeds), target.seeds, dice)
        began = time.process_time()
        answers[_answer(target, data, folder)] += 1
        longest_s = max(longest_s, time.process_time() - began)
        assert longest_s < LONGEST_S, f"{target.name} took {longest_s:.1f} s: {_kept(data)}"
    return answers, longest_s


def _answer(target: Target, data: bytes, folder: Path) -> str:
    try:
        target.read(data, folder)
    except TapmarkError as error:
        assert str(error).isprintable(), f"{target.name}: more than a line: {_kept(data)}"
        return type(error).__name__
    except Exception as error:
        raise AssertionError(f"{target.name}: {error!r} for {_kept(data)}") from error
    return "a value"


def _kept(data: bytes) -> Path:
    path = Path(tempfile.gettempdir()) / "tapmark-fuzz-case"
    path.write_bytes(data)
    return path


def main() -> None:
    n_cases = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    total = 0
    for name, answers, longest_s in fuzz(n_cases, seed):
        said = ", ".join(f"{n} × {answer}" for answer, n in answers.most_common())
        print(f"{name:22} longest {longest_s * 1000:6.1f} ms   {said}", flush=True)
        total += sum(answers.values())
    print(f"{total} cases (seed {seed}): always a value or a plain sentence.")


if __name__ == "__main__":
    main()
