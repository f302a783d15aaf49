"""Would a test notice? One small change at a time to geometry, measures and checklist.

    python -m tests.long.mutants [--n 400] [--seed 1] [--workers 2] [--only measures]

Each mutant is one changed operator, number or word of logic in a copy of the package; the tests of
its room run until one fails. Survivors are printed with their lines: each is a missing test or a
change that changes nothing.
"""

import argparse
import ast
import copy
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
TESTS = {
    "geometry": ("tests/geometry", "tests/measures"),
    "measures": ("tests/measures", "tests/errands/test_drawn_runners.py"),
    "checklist": ("tests/checklist",),
}
SLOWEST_S = 240
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


def is_killed(mutant: Mutant, tree: Path) -> bool:
    """Make the change in a copy of the tree, run the room's tests, take the change back."""
    path = tree / mutant.path
    original = path.read_text("utf-8")
    path.write_text(mutated(original, mutant.number), "utf-8")
    tests = TESTS[mutant.path.parts[1]]
    command = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", *tests]
    environment = os.environ | {"PYTHONDONTWRITEBYTECODE": "1", "PYTHONPATH": str(tree)}
    try:
        done = subprocess.run(
            command, cwd=tree, env=environment, capture_output=True, timeout=SLOWEST_S
        )
        return done.returncode != 0
    except subprocess.TimeoutExpired:
        return True  # a loop that never ends would be noticed
    finally:
        path.write_text(original, "utf-8")


def try_all(mutants: list[Mutant], n_workers: int) -> dict[Mutant, bool]:
    """Return mutant -> whether a test noticed; each worker has a tree of its own."""
    with tempfile.TemporaryDirectory() as folder:
        trees = [Path(folder) / "main" / str(i) for i in range(n_workers)]
        for tree in trees:
            for name in ("tapmark", "tests", "sample_frames", "pyproject.toml"):
                copy_into(ROOT / name, tree / name)

        def work(i: int) -> dict[Mutant, bool]:
            return {each: is_killed(each, trees[i]) for each in mutants[i::n_workers]}

        with ThreadPoolExecutor(n_workers) as pool:
            parts = list(pool.map(work, range(n_workers)))
    return {mutant: killed for part in parts for mutant, killed in part.items()}


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
    told = asks.parse_args()
    everything = all_mutants(told.only or list(TESTS))
    chosen = random.Random(told.seed).sample(everything, min(told.n, len(everything)))
    tried = try_all(chosen, told.workers)
    for mutant in sorted((m for m, killed in tried.items() if not killed), key=str):
        print(f"survived: {mutant.path}:{mutant.line} {mutant.what} #{mutant.number}")
    rooms = Counter((mutant.path.parts[1], killed) for mutant, killed in tried.items())
    print("\n| room | mutants | killed | share |\n|---|---|---|---|")
    for room in told.only or TESTS:
        killed, n = rooms[room, True], rooms[room, True] + rooms[room, False]
        if n:
            print(f"| {room} | {n} | {killed} | {100 * killed / n:.0f} % |")
    n_killed = sum(tried.values())
    print(f"| all | {len(tried)} | {n_killed} | {100 * n_killed / len(tried):.0f} % |")
    print(f"sampled from {len(everything)} with seed {told.seed}")


if __name__ == "__main__":
    main()
