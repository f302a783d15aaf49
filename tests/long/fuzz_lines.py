"""Give every command wild words, paths and rights: python -m tests.long.fuzz_lines [N] [SEED]

Each case is a small squad of its own in which one to three things are no longer what they should
be: a pipe, a device, an endless or circling link, a folder, a closed folder, JSON 900 levels deep.
Then a command gets words from a list of good and bad ones, and its results go to a file, a full
device or a pipe that nobody reads. As root the command runs without root's rights. Whatever comes
in, it ends within a minute with 0, 1 or 2, says so in plain lines without signs that steer a
terminal, and never ends with 0 where its results did not get out.
"""

import contextlib
import importlib
import io
import json
import os
import pkgutil
import random
import resource
import shutil
import signal
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import tapmark as package
from tapmark import disk
from tapmark.cli import main as tapmark
from tapmark.services.samples import FILMED, read_truth, sample_athlete
from tapmark.store.archive import back_up
from tapmark.store.squad import make_squad
from tests.clip import made as made_clips

LONGEST_S = 60.0
NOBODY = 65534
SAMPLES = Path(__file__).parents[2] / "sample_frames"
FULL, SHUT, KEPT = "a full device", "a pipe that nobody reads", "a file"
MADE_A_MISTAKE = 70


@dataclass(frozen=True)
class Case:
    """What was run, where its results went, how it ended and what it said."""

    argv: tuple[str, ...]
    broken: tuple[str, ...]
    out: str
    code: int
    said: str
    seconds: float


def template(folder: Path) -> None:
    """Make what every case begins from: a squad, its back-up, a clip, stills and a list."""
    squad = make_squad(folder / "squad", "Group")
    for code in ("P01", "P02"):
        squad.save_athlete(sample_athlete(read_truth(SAMPLES, code)))
        visit = squad.new_visit(code, FILMED)
        run = squad.run_path(code, visit.dated, "run-1")
        shutil.copy(SAMPLES / code / "run-1.json", run)
        run.with_suffix("").mkdir()
        (run.with_suffix("") / "since.txt").write_text(FILMED, "utf-8")
        shutil.copy(
            SAMPLES / code / "1-touchdown.jpg", run.with_suffix("") / "step-1-touchdown.jpg"
        )
        squad.save_visit(visit.__class__(code, visit.dated, runs=("run-1",)))
    (squad.folder / "checks.toml").write_text("format = 1\n", "utf-8")
    back_up(squad, folder / "b.zip", FILMED)
    made_clips.write_steady(folder / "clip.mp4", range(12), rate=30)
    shutil.copytree(SAMPLES / "P01", folder / "stills")
    (folder / "stills" / "run-1.json").unlink()
    (folder / "pipes").mkdir()
    os.mkfifo(folder / "pipes" / "pipe.mp4")
    (folder / "loop").symlink_to(folder / "loop")
    (folder / "dangling").symlink_to(folder / "nowhere")
    (folder / "endless.zip").symlink_to("/dev/zero")


def warm_up(folder: Path) -> None:
    """Have every module loaded: without root's rights Python may not reach its own library."""
    for module in pkgutil.walk_packages(package.__path__, "tapmark."):
        if module.name != "tapmark.__main__":
            importlib.import_module(module.name)
    visit = str(folder / "squad" / "athletes" / "P01" / FILMED)
    lines = (["doctor"], ["doctor", str(folder / "stills")], ["measure", visit], ["sheet", visit])
    lines += (["frames", str(folder / "clip.mp4"), "--out", str(folder / "out")], ["nothing"])
    silent = io.StringIO()
    for argv in lines:
        with contextlib.suppress(SystemExit), contextlib.redirect_stdout(silent):
            tapmark(argv)
    shutil.rmtree(folder)


def a_pipe(path: Path, dice: random.Random) -> None:
    _away(path)
    os.mkfifo(path)


def a_link(path: Path, dice: random.Random) -> None:
    _away(path)
    ways = ("/dev/zero", "/dev/full", "/dev/null", "/dev/tty", "/etc/passwd", path.name, "nowhere")
    path.symlink_to(dice.choice(ways))


def a_folder(path: Path, dice: random.Random) -> None:
    _away(path)
    path.mkdir()


def a_file(path: Path, dice: random.Random) -> None:
    _away(path)
    path.write_bytes(dice.choice((b"", b"x", b"\0" * 100, b"{}", b"[" * 100_000)))


def a_huge_file(path: Path, dice: random.Random) -> None:
    _away(path)
    with path.open("wb") as file:
        file.truncate(30_000_000_000)


def a_deep_file(path: Path, dice: random.Random) -> None:
    plain = json.loads(disk.read(path, 1_000_000)) if path.suffix == ".json" else {}
    deep: object = "x"
    for _ in range(dice.choice((55, 70, 900))):
        deep = [deep] if dice.random() < 0.5 else {"a": deep}
    _away(path)
    path.write_text(json.dumps(plain | {"new": deep}), "utf-8")


def a_bad_clip(path: Path, dice: random.Random) -> None:
    if not path.name.startswith("run-") or path.suffix != ".json":
        return a_file(path, dice)
    plain = json.loads(disk.read(path, 1_000_000))
    way = dice.choice(
        ("a\0b.mp4", "a" * 300, "a/" * 1900, "../../../../loop", "\x1b[2J.mp4", "..", "/")
    )
    source = {"kind": "clip", "path": way, "size_bytes": 9, "fingerprint": "ab"}
    plain["source"] = plain.get("source", {}) | source
    path.write_text(json.dumps(plain), "utf-8")
    return None


def fewer_rights(path: Path, dice: random.Random) -> None:
    folder = path if dice.random() < 0.3 and path.is_dir() else path.parent
    for each in (folder, path):
        if dice.random() < 0.6 and not each.is_symlink():
            each.chmod(dice.choice((0o000, 0o111, 0o444, 0o555, 0o666)))


BREAKS: tuple[Callable[[Path, random.Random], None], ...] = (
    *(a_pipe, a_link, a_folder, a_file, a_huge_file, a_deep_file, a_bad_clip),
    *(fewer_rights, fewer_rights, fewer_rights),
)
COMMANDS = {
    "": ("SQUAD",),
    "frames": ("CLIP", "--out", "NEW", "--from", "NUMBER", "--to", "NUMBER"),
    "measure": ("RUN", "FLAG"),
    "sheet": ("VISIT", "FLAG"),
    "film": ("VISIT", "--gif", "FLAG"),
    "squad": ("SQUAD",),
    "compare": ("VISIT", "VISIT"),
    "check": ("SQUAD",),
    "backup": ("SQUAD", "NEW"),
    "restore": ("ZIP", "NEW", "FLAG"),
    "delete": ("SQUAD", "CODE", "FLAG"),
    "doctor": ("CLIP", "--stopwatch", "READING", "READING"),
}
FLAGS = (
    "--json",
    "--csv",
    "--comma",
    "--dry-run",
    "--replace",
    "--copy=group",
    "--copy=photo",
    "--kind=photo",
    "--x",
)
NUMBERS = ("nan", "inf", "-1", "0", "0.1", "1e308", "1e309", "x", " ", "1e-300")
READINGS = ("1=0.0", "12=0:00.4", "9" * 5000 + "=1", "1=" + "9" * 400, "0=1", "=", "2=nan", "²=1")
CODES = (*["P01"] * 6, "P02", "P99", " ", "..", "../P02", "\x1b[31mP01", "P01\0", "a" * 5000, "con")


def fitting(folder: Path) -> dict[str, tuple[Path, ...]]:
    """The paths below a case's folder that a command asks for."""
    squad = folder / "squad"
    visits = tuple(squad / "athletes" / code / FILMED for code in ("P01", "P02"))
    return {
        "SQUAD": (squad,),
        "VISIT": visits,
        "RUN": (squad, *visits, visits[0] / "run-1.json"),
        "ZIP": (folder / "b.zip",),
        "NEW": (folder / "new", folder / "new.zip"),
        "CLIP": (folder / "clip.mp4", folder / "stills", folder / "stills/1-touchdown.jpg"),
    }


def wild(folder: Path) -> tuple[str, ...]:
    """Paths that no command asks for."""
    bad = (
        *(folder / "loop", folder / "loop" / "x", folder / "dangling", folder / "endless.zip"),
        *(folder / "pipes/pipe.mp4", folder / "b.zip/in a file", folder / "squad/athletes"),
        *(folder / "pipes", folder / ("a" * 300), folder / ("a/" * 2100), folder / "n\0l"),
        *map(Path, ("/dev/zero", "/dev/full", "/dev/null", "/proc/self/mem", "/")),
        *(folder / "\x1b[2J\x07 \u202e", folder / "\udcff", folder / "nowhere/at/all"),
        folder / "pipes/..",
    )
    return (*map(str, bad), "", ".", "..", "-", "--")


def words(folder: Path, dice: random.Random) -> tuple[str, ...]:
    """Return one command line."""
    name = dice.choice(list(COMMANDS))
    fits = fitting(folder)
    anything = (*wild(folder), *(str(path) for each in fits.values() for path in each))
    others = {"FLAG": (*FLAGS, *[""] * 8), "NUMBER": NUMBERS, "READING": READINGS, "CODE": CODES}
    said = [name] if name else []
    for word in COMMANDS[name]:
        if word in fits:
            is_fit = dice.random() < 0.75
            said.append(str(dice.choice(fits[word])) if is_fit else dice.choice(anything))
        elif chosen := dice.choice(others.get(word, (word,))):
            said.append(chosen)
    n_needed = {"": 0, "doctor": 2, "frames": 4}.get(name, len(said))
    return tuple(said[: dice.choice((n_needed, len(said)))])


def run_case(folder: Path, dice: random.Random) -> Case:
    """Break some things in a fresh copy and run one command in a child without root's rights."""
    inside = folder / "case"
    shutil.copytree(folder / "template", inside, symlinks=True, ignore=_pipes)
    os.mkfifo(inside / "pipes" / "pipe.mp4")
    own = [path for path in sorted((inside / "squad").rglob("*")) if not path.is_symlink()]
    own += [inside / "b.zip", inside / "stills/times.csv", inside / "stills/1-touchdown.jpg"]
    own += [inside / "squad/athletes/P01" / FILMED / "run-1.json.lock", inside / "squad"]
    argv, out = words(inside, dice), dice.choice((KEPT, KEPT, KEPT, FULL, SHUT))
    _give_away(inside)
    broken = []
    for _ in range(dice.choice((0, 1, 1, 2, 3))):
        path, change = dice.choice(own), dice.choice(BREAKS)
        with contextlib.suppress(OSError, ValueError, TypeError):
            change(path, dice)
            broken.append(f"{path.relative_to(inside)}: {change.__name__}")
    _give_away(inside)
    began = time.monotonic()
    code, said = _in_a_child(argv, inside, out)
    case = Case(argv, tuple(broken), out, code, said, time.monotonic() - began)
    _clear(inside)
    return case


def faults(case: Case) -> list[str]:
    """Return what is wrong with how a case ended."""
    found = []
    if case.code not in (0, 1, 2):
        found.append(f"ended with {case.code}")
    if "Traceback" in case.said or "Exception ignored" in case.said:
        found.append("a traceback")
    if any(not (sign.isprintable() or sign in "\n\t\r\xa0\u2009\u202f") for sign in case.said):
        found.append("a sign that steers a terminal")
    if case.code == 0 and case.out != KEPT and case.argv[:1] != ("backup",):
        found.append("0 although nobody got the result")
    if case.code == 1 and case.out == KEPT and not case.said.strip():
        found.append("refused without a word")
    return found


def begin(top: Path) -> None:
    """Make the template, and have a copy of it worked with once."""
    top.chmod(0o755)
    (top / "template").mkdir()
    template(top / "template")
    shutil.copytree(top / "template", top / "warm", symlinks=True, ignore=_pipes)
    warm_up(top / "warm")


def fuzz_lines(n_cases: int, seed: int) -> Iterator[Case]:
    """Yield every case; a wrong one raises AssertionError with all that is needed to run it."""
    top = Path(tempfile.mkdtemp(prefix="tapmark-lines-"))
    try:
        begin(top)
        for n in range(n_cases):
            case = run_case(top, random.Random(f"{seed} {n}"))
            wrong = faults(case)
            assert not wrong, f"case {n} of seed {seed}: {wrong}\n{case}\n{case.said[-3000:]}"
            yield case
    finally:
        _clear(top)


def _in_a_child(argv: tuple[str, ...], inside: Path, out: str) -> tuple[int, str]:
    said = inside.parent / "said"
    said.write_bytes(b"")
    said.chmod(0o666)
    child = os.fork()
    if child == 0:
        _be_the_child(argv, inside, out, said)
    deadline = time.monotonic() + LONGEST_S
    while True:
        gone, status = os.waitpid(child, os.WNOHANG)
        if gone:
            break
        if time.monotonic() > deadline:
            os.killpg(child, signal.SIGKILL)
            status = os.waitpid(child, 0)[1]
            break
        time.sleep(0.002)
    return os.waitstatus_to_exitcode(status), said.read_bytes().decode("utf-8", "replace")


def _be_the_child(argv: tuple[str, ...], inside: Path, out: str, said: Path) -> None:
    """Never returns; nothing of the test program is cleared up here."""
    code: object = MADE_A_MISTAKE
    try:
        os.setsid()
        talk = os.open(said, os.O_WRONLY | os.O_APPEND)
        os.dup2(talk, 2)
        os.dup2({KEPT: talk, FULL: os.open("/dev/full", os.O_WRONLY), SHUT: _shut_pipe()}[out], 1)
        os.chdir(inside)
        resource.setrlimit(resource.RLIMIT_AS, (4 << 30, 4 << 30))
        resource.setrlimit(resource.RLIMIT_FSIZE, (300 << 20, 300 << 20))
        if os.getuid() == 0:
            os.setgroups([])
            os.setgid(NOBODY)
            os.setuid(NOBODY)
        os.environ |= {"HOME": str(inside), "XDG_CACHE_HOME": str(inside / "cache")}
        os.environ |= {"XDG_CONFIG_HOME": str(inside / "config"), "TMPDIR": str(inside / "pipes")}
        os.environ.pop("DISPLAY", None)
        tempfile.tempdir = None
        sys.stdin = open(os.devnull)  # noqa: PTH123, SIM115
        sys.stdout, sys.stderr = (open(n, "w", closefd=False) for n in (1, 2))  # noqa: SIM115
        try:
            code = tapmark(argv)
        except SystemExit as ended:
            code = ended.code
        except BaseException:  # noqa: BLE001  the parent judges
            os.write(2, traceback.format_exc().encode())
    finally:
        for stream in (sys.stdout, sys.stderr):
            with contextlib.suppress(OSError, ValueError):
                stream.flush()
        os._exit(code if isinstance(code, int) else MADE_A_MISTAKE)


def _shut_pipe() -> int:
    reader, writer = os.pipe()
    os.close(reader)
    return writer


def _pipes(folder: str, names: list[str]) -> list[str]:
    return [name for name in names if name == "pipe.mp4"]


def _away(path: Path) -> None:
    if path.is_dir() and not path.is_symlink():
        shutil.rmtree(path)
    else:
        path.unlink(missing_ok=True)


def _give_away(folder: Path) -> None:
    if os.getuid() == 0:
        for inside, folders, names in os.walk(folder):
            for name in (*folders, *names, ""):
                os.chown(os.path.join(inside, name), NOBODY, NOBODY, follow_symlinks=False)  # noqa: PTH118


def _clear(folder: Path) -> None:
    for inside, folders, _ in os.walk(folder):
        for name in folders:
            with contextlib.suppress(OSError):
                os.chmod(os.path.join(inside, name), 0o700, follow_symlinks=True)  # noqa: PTH101, PTH118
    shutil.rmtree(folder)


def main() -> None:
    n_cases = int(sys.argv[1]) if len(sys.argv) > 1 else 3000
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    codes: Counter[tuple[str, int]] = Counter()
    longest_s = 0.0
    for case in fuzz_lines(n_cases, seed):
        codes[case.argv[0] if case.argv and case.argv[0] in COMMANDS else "", case.code] += 1
        longest_s = max(longest_s, case.seconds)
    for (name, code), n in sorted(codes.items()):
        print(f"{name or 'window':8} ended with {code}: {n}")
    print(f"{n_cases} command lines (seed {seed}), longest {longest_s:.1f} s: no traceback.")


if __name__ == "__main__":
    main()
