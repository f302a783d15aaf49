"""Would a test notice? One small change at a time to geometry, measures and checklist.

    python -m tests.long.mutants [--n 400] [--start 0] [--seed 1] [--workers 2]

Each mutant is one changed operator, number or word of logic in a copy of the package; the tests of
its room run until one fails. Survivors are printed with their lines: each is a missing test or a
change that changes nothing.
"""

import argparse
import ast
import copy
import multiprocessing
import os
import random
import resource
import shutil
import sys
import tempfile
import time
import tomllib
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from itertools import count, repeat
from pathlib import Path

import numpy  # noqa: F401 - read here once, so that no child reads it again
import pytest
from hypothesis import HealthCheck, settings

ROOT = Path(__file__).parents[2]
TESTS = {
    "geometry": ("tests/geometry", "tests/measures", "tests/test_values.py"),
    "measures": ("tests/measures", "tests/services/test_drawn_runners.py", "tests/test_values.py"),
    "checklist": ("tests/checklist", "tests/test_values.py"),
}
SHARED = ROOT.parent / "shared"
SEEN = 80  # letters shown on either side of a change
SLOW_S = 4  # a test file that takes longer runs only where the quick ones noticed nothing
SLOWEST_CPU_S = 300  # a loop that never ends is noticed; a machine busy with others is not
SWAPS: dict[type[ast.AST], type[ast.AST]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.Lt: ast.GtE,
    ast.LtE: ast.Gt,
    ast.Gt: ast.LtE,
    ast.GtE: ast.Lt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
    ast.And: ast.Or,
    ast.Or: ast.And,
}


@dataclass(frozen=True)
class Mutant:
    """One change: the file, the line and what was done there; `number` finds it again."""

    path: Path
    number: int
    line: int
    what: str


def places(tree: ast.AST) -> Iterator[tuple[ast.AST, str]]:
    """Yield (node, what could be changed there), always in the same order."""
    types = {id(each) for node in ast.walk(tree) for each in annotations(node)}
    for node in ast.walk(tree):
        if id(node) in types:
            continue
        if isinstance(node, ast.BinOp | ast.BoolOp) and type(node.op) in SWAPS:
            yield node, "operator"
        elif isinstance(node, ast.Compare) and type(node.ops[0]) in SWAPS:
            yield node, "comparison"
        elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not | ast.USub):
            yield node, "sign"
        elif isinstance(node, ast.Constant) and type(node.value) in (int, float, bool):
            yield node, "number"


def annotations(node: ast.AST) -> Iterator[ast.AST]:
    """Yield the nodes inside type annotations: changing those changes nothing."""
    for name in ("annotation", "returns"):
        told = getattr(node, name, None)
        if told is not None:
            yield from ast.walk(told)


def mutated(source: str, number: int) -> str:
    """Return the source with its change of that number made."""
    tree = copy.deepcopy(ast.parse(source))
    node, kind = list(places(tree))[number]
    if kind == "operator":
        node.op = SWAPS[type(node.op)]()  # type: ignore[attr-defined]
    elif kind == "comparison":
        node.ops[0] = SWAPS[type(node.ops[0])]()  # type: ignore[attr-defined]
    elif kind == "sign":
        node.op = ast.UAdd() if isinstance(node.op, ast.USub) else ast.Not()  # type: ignore[attr-defined]
        if isinstance(node.op, ast.Not):  # type: ignore[attr-defined]
            node.operand = ast.UnaryOp(ast.Not(), node.operand)  # type: ignore[attr-defined]
    else:
        value = node.value  # type: ignore[attr-defined]
        node.value = (not value) if isinstance(value, bool) else value * 1.5 + 1  # type: ignore[attr-defined]
        if isinstance(value, int) and not isinstance(value, bool):
            node.value = value + 1  # type: ignore[attr-defined]
    return ast.unparse(ast.fix_missing_locations(tree))


def all_mutants(rooms: list[str]) -> list[Mutant]:
    """Return every change that could be made in the rooms."""
    found = []
    for room in rooms:
        for path in sorted((ROOT / "tapmark" / room).glob("*.py")):
            source = path.read_text("utf-8")
            for number, (node, kind) in enumerate(places(ast.parse(source))):
                line = node.lineno  # type: ignore[attr-defined]
                found.append(Mutant(path.relative_to(ROOT), number, line, kind))
    return found


def times_of(tree: Path, rooms: list[str], left_out: list[str]) -> dict[str, float]:
    """Return test file -> seconds in the unchanged copy; each of them must pass there."""
    seconds: dict[str, float] = {}
    for name in sorted({name for room in rooms for name in files_of(tree, room)} - {*left_out}):
        started = time.monotonic()
        if not passes(tree, [name]):
            raise SystemExit(f"{name} fails without any change: mend that first.")
        seconds[name] = time.monotonic() - started
    return seconds


def files_of(tree: Path, room: str) -> list[str]:
    """Return the test files that a mutant of the room must get past."""
    return [
        path.relative_to(tree).as_posix()
        for name in TESTS[room]
        for path in ([tree / name] if name.endswith(".py") else (tree / name).glob("test_*.py"))
    ]


def nearest_first(path: Path, tree: Path, seconds: dict[str, float]) -> list[str]:
    """Return the test files: the module's own, those that name it, the others; slow ones last."""
    dotted = ".".join(path.with_suffix("").parts)

    def rank(name: str) -> tuple[bool, bool, bool, float]:
        is_slow, is_own = seconds[name] > SLOW_S, Path(name).stem == f"test_{path.stem}"
        is_foreign = dotted not in (tree / name).read_text("utf-8")
        return is_slow, not is_own, is_foreign, seconds[name]

    return sorted((f for f in files_of(tree, path.parts[1]) if f in seconds), key=rank)


def passes(tree: Path, tests: list[str]) -> bool:
    """Run the tests in a forked child, which need not import pytest and numpy anew."""
    child = multiprocessing.get_context("fork").Process(target=run_tests, args=(tree, tests))
    child.start()
    child.join()
    return child.exitcode == 0


def run_tests(tree: Path, tests: list[str]) -> None:
    """Be the child: forget the checkout's own modules, stand in the copy, run pytest."""
    for name in [name for name in sys.modules if name.split(".")[0] in ("tests", "tapmark")]:
        del sys.modules[name]
    resource.setrlimit(resource.RLIMIT_CPU, (SLOWEST_CPU_S, SLOWEST_CPU_S))
    os.chdir(tree)
    sys.path[:] = [str(tree), *(each for each in sys.path if each not in ("", str(ROOT)))]
    sys.dont_write_bytecode = True
    silence = os.open(os.devnull, os.O_WRONLY)
    os.dup2(silence, 1)
    os.dup2(silence, 2)
    settings.register_profile(  # the same cases for every mutant; a busy machine kills none
        "mutants", deadline=None, derandomize=True, suppress_health_check=list(HealthCheck)
    )
    settings.load_profile("mutants")
    calm = ["-W", "ignore:Module already imported"]  # hypothesis is, on purpose
    os._exit(int(pytest.main(["-x", "-q", "-p", "no:cacheprovider", *calm, *tests])))


def try_all(
    mutants: list[Mutant], worker: int, rooms: list[str], left_out: list[str]
) -> dict[Mutant, bool]:
    """Return mutant -> whether a test noticed, tried one by one in a copy of the tree."""
    tried = {}
    with tempfile.TemporaryDirectory() as folder:
        tree = Path(folder) / "main"
        for name in ("tapmark", "tests", "sample_frames", "pyproject.toml"):
            copy_into(ROOT / name, tree / name)
        if SHARED.is_dir():  # where it is absent, the tests that read it skip, as ever
            (tree.parent / SHARED.name).symlink_to(SHARED)
        seconds = times_of(tree, rooms, left_out)
        for i, each in enumerate(mutants):
            path = tree / each.path
            original = path.read_text("utf-8")
            path.write_text(mutated(original, each.number), "utf-8")
            tests = nearest_first(each.path, tree, seconds)
            tried[each] = not passes(tree, tests)
            path.write_text(original, "utf-8")
            if not tried[each]:
                print(f"survived: {told_of(each)}", flush=True)
            if not i % 10:
                print(
                    f"worker {worker}: {i + 1} of {len(mutants)}, {sum(tried.values())} killed",
                    flush=True,
                )
    return tried


def told_of(mutant: Mutant) -> str:
    """Return where a mutant is and what it changes, as one line to read and to ask for again."""
    before = (ROOT / mutant.path).read_text("utf-8")
    old, new = (ast.unparse(ast.parse(before)).splitlines(), mutated(before, mutant.number))
    changed = [pair for pair in zip(old, new.splitlines(), strict=False) if pair[0] != pair[1]]
    was, now = around_change(*(side.strip() for side in changed[0])) if changed else ("", "")
    return f"{mutant.path}#{mutant.number} line {mutant.line}: {was} -> {now}"


def around_change(was: str, now: str) -> tuple[str, str]:
    """Return both lines without what is equal far before and far behind the change."""
    head = n_equal(was, now)
    tail = n_equal(was[head:][::-1], now[head:][::-1])
    before, behind = max(0, head - SEEN), max(0, tail - SEEN)
    return was[before : len(was) - behind], now[before : len(now) - behind]


def n_equal(one: str, other: str) -> int:
    """Return how many letters two texts share from their beginning on."""
    pairs = enumerate(zip(one, other, strict=False))
    return next((i for i, (a, b) in pairs if a != b), min(len(one), len(other)))


def reason_of(mutant: Mutant) -> str:
    """Return why the change changes nothing, as argued in equivalent.toml; empty where it does."""
    argued = tomllib.loads((Path(__file__).parent / "equivalent.toml").read_text("utf-8"))
    change = told_of(mutant).partition(": ")[2]
    return str(argued.get(mutant.path.as_posix(), {}).get(change, ""))


def copy_into(source: Path, target: Path) -> None:
    """Copy a file or a folder without what Python left in it."""
    target.parent.mkdir(parents=True, exist_ok=True)
    if source.is_dir():
        shutil.copytree(source, target, ignore=shutil.ignore_patterns("__pycache__"))
    else:
        shutil.copy(source, target)


def main() -> None:
    """Print survivors and the table."""
    asks = argparse.ArgumentParser(description=__doc__)
    asks.add_argument("--n", type=int, default=400)
    asks.add_argument("--seed", type=int, default=1)
    asks.add_argument("--workers", type=int, default=2)
    asks.add_argument("--only", choices=TESTS, action="append")
    asks.add_argument("--start", type=int, default=0, help="go on after so many of the same seed")
    asks.add_argument("--leave-out", nargs="+", default=[], help="slow test files not to run")
    asks.add_argument("--again", nargs="+", metavar="PATH#NUMBER", help="these and no others")
    told = asks.parse_args()
    everything = all_mutants(told.only or list(TESTS))
    shuffled = random.Random(told.seed).sample(everything, len(everything))
    chosen = shuffled[told.start : told.start + told.n]
    if told.again:
        chosen = [m for m in everything if f"{m.path}#{m.number}" in told.again]
    rooms = [room for room in TESTS if any(m.path.parts[1] == room for m in chosen)]
    parts = [chosen[i :: told.workers] for i in range(told.workers)]
    with ProcessPoolExecutor(told.workers) as pool:
        done = pool.map(try_all, parts, count(), repeat(rooms), repeat(told.leave_out))
        tried = {mutant: killed for part in done for mutant, killed in part.items()}
    print_table(tried)
    print(f"sampled from {len(everything)} with seed {told.seed}")


def print_table(tried: dict[Mutant, bool]) -> None:
    """Print room, made, killed, survived, argued to change nothing, share killed of the rest."""
    fates = {m: "killed" if k else "same" if reason_of(m) else "alive" for m, k in tried.items()}
    print(
        "\n| room | made | killed | survived | changes nothing | share |\n|---|---|---|---|---|---|"
    )
    for room in (*TESTS, "all"):
        n = Counter(fate for m, fate in fates.items() if room in ("all", m.path.parts[1]))
        if n:
            share = 100 * n["killed"] / max(1, n["killed"] + n["alive"])
            cells = (sum(n.values()), n["killed"], n["alive"], n["same"], f"{share:.0f} %")
            print("| " + " | ".join(map(str, (room, *cells))) + " |")


if __name__ == "__main__":
    main()
