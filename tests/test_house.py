"""Sizes, dead code, types and docstrings; licences and files as the papers tell them."""

import ast
import re
import subprocess
import tomllib
from collections.abc import Iterator
from importlib.metadata import metadata
from pathlib import Path

import pytest

from tapmark import errors

ROOT = Path(__file__).parent.parent
MODULES = sorted((ROOT / "tapmark").rglob("*.py"))
ROOMS_WITH_ERRORS = (
    "geometry",
    "marks",
    "measures",
    "checklist",
    "clip",
    "store",
    "drawing",
    "sheet",
    "services",
    "practice",
)
MOST_BYTES = 2_000_000
LICENCES = {
    "Pillow": "MIT-CMU",
    "imageio": "BSD 2-clause",
    "imageio-ffmpeg": "BSD 2-clause",
    "numpy": "BSD 3-clause",
}


def lengths(folder: str) -> Iterator[tuple[int, str]]:
    """Yield (lines without the docstring, where) of every function."""
    for path in sorted((ROOT / folder).rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                yield lines_of(node), f"{path.relative_to(ROOT)}: {node.name}"


def lines_of(node: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Return the lines of a function from its name to its end, its docstring not counted."""
    first, end = node.body[0], node.end_lineno or node.lineno
    told = (first.end_lineno or 0) - first.lineno + 1 if ast.get_docstring(node) else 0
    return end - node.lineno + 1 - told


def test_a_function_is_counted_without_its_docstring() -> None:
    node = ast.parse('def f():\n    """One\n\n    two.\n    """\n    a = 1\n    return a').body[0]

    assert isinstance(node, ast.FunctionDef)
    assert lines_of(node) == 3


LONGEST_FUNCTION = 60


@pytest.mark.parametrize("folder", ["tapmark", "tests"])
def test_functions_can_be_read_from_top_to_bottom_on_one_screen(folder: str) -> None:
    assert [where for lines, where in lengths(folder) if lines > LONGEST_FUNCTION] == []


def test_no_file_of_the_project_is_over_2_mb() -> None:
    listed = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True)
    if listed.returncode:
        pytest.skip("no git checkout here, so nobody says which files belong to the project")
    files = [ROOT / name for name in listed.stdout.split("\0") if name]
    large = [path.name for path in files if path.exists() and path.stat().st_size > MOST_BYTES]

    assert len(files) > 300
    assert large == []


@pytest.mark.parametrize(("name", "licence"), LICENCES.items())
def test_licence_named_in_readme_is_the_one_installed(name: str, licence: str) -> None:
    told = metadata(name)
    installed = f"{told.get('License-Expression') or told.get('License')}".replace(
        "-Clause", " clause"
    )

    assert licence.replace("-clause", " clause") in installed.replace("BSD-", "BSD ")
    assert f"{name} ({licence}" in (ROOT / "README.md").read_text("utf-8")


def listed(table: str) -> set[str]:
    """Return the libraries that pyproject.toml lists under a name."""
    project = (ROOT / "pyproject.toml").read_text("utf-8")
    lines = project.partition(f"\n{table} = [")[2].partition("\n]")[0].splitlines()
    return {line.split('"')[1].split(">=")[0] for line in lines if '"' in line}


def test_readme_names_every_library_the_program_needs() -> None:
    assert listed("dependencies") == set(LICENCES)


@pytest.mark.parametrize("name", sorted(listed("test")))
def test_licence_of_a_library_of_the_tests_is_named_and_true(name: str) -> None:
    paper = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    told = metadata(name)
    classes = [each for each in told.get_all("Classifier") or () if each.startswith("License")]
    installed = " ".join((told.get("License-Expression") or "", *classes)).replace("-", " ")

    found = re.search(rf"\b{name} \((MIT|BSD|MPL 2\.0)\)", paper)

    assert found and found[1] in installed


def dotted(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(part for part in parts if part != "__init__")


def defined(tree: ast.Module) -> Iterator[tuple[str, ast.stmt]]:
    """Yield (name, where) of every public thing at the top of a module."""
    for node in tree.body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            names = [node.name]
        elif isinstance(node, ast.Assign | ast.AnnAssign):
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            names = [n.id for t in targets for n in ast.walk(t) if isinstance(n, ast.Name)]
        else:
            continue
        yield from ((name, node) for name in names if not name.startswith("_"))


def reached(module: str, tree: ast.Module, modules: set[str]) -> Iterator[tuple[str, str]]:
    """Yield (module, name) of all that a module imports, or reads at its own top."""
    short: dict[str, str] = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom):
            for alias in node.names:
                whole = f"{node.module}.{alias.name}"
                short |= {alias.asname or alias.name: whole} if whole in modules else {}
                yield node.module or "", alias.name
        elif isinstance(node, ast.Attribute) and ast.unparse(node.value) in short:
            yield short[ast.unparse(node.value)], node.attr
    own = dict(defined(tree))
    for top in tree.body:
        for node in ast.walk(top):
            if isinstance(node, ast.Name) and own.get(node.id, top) is not top:
                yield module, node.id


NOT_REACHED = {
    "tapmark.clip.ffmpeg.stop_all": "called by Python when it ends",
    "tapmark.store.consent.STATES": "the words that consent_state returns",
    "tapmark.store.schema.json_schema": "tests.store.write_schemas writes the schemas with it",
    "tapmark.store.pictures.find_clip": "a moved clip is opened by hand; nothing looks for it yet",
}


def test_everything_public_is_reached_by_the_program_itself() -> None:
    """What only tests reach is dead, or promised and not yet wired: named above with its reason."""
    trees = {dotted(path): ast.parse(path.read_text("utf-8")) for path in MODULES}
    found = {each for name, tree in trees.items() for each in reached(name, tree, set(trees))}
    dead = {
        f"{module}.{name}"
        for module, tree in trees.items()
        for name, _ in defined(tree)
        if (module, name) not in found and not is_view(module, name)
    }

    assert sorted(dead) == sorted(NOT_REACHED)


def is_view(module: str, name: str) -> bool:
    """Say whether it is a page of the window, which is found by its name as it is needed."""
    return module.startswith("tapmark.app.") and name.endswith("View")


def test_a_thing_that_nothing_reads_is_seen() -> None:
    tree = ast.parse("A = 1\nB = A\n\n\ndef f():\n    return f()")
    found = set(reached("m", tree, {"m"}))

    assert [name for name, _ in defined(tree) if ("m", name) not in found] == ["B", "f"]


def test_types_are_checked_strictly_in_every_room() -> None:
    """No room is let off; only libraries that bring no types are named."""
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["mypy"]

    assert settings["strict"] is True and settings["files"] == ["tapmark"]
    assert settings["overrides"] == [
        {"module": ["imageio.*", "imageio_ffmpeg.*"], "ignore_missing_imports": True}
    ]


def raises_itself(node: ast.FunctionDef) -> set[str]:
    """Return the errors of tapmark.errors that a function raises in its own body, uncaught."""
    caught = {
        name.id
        for each in ast.walk(node)
        if isinstance(each, ast.ExceptHandler) and each.type
        for name in ast.walk(each.type)
        if isinstance(name, ast.Name)
    }
    raised = {
        each.exc.func.id
        for each in ast.walk(node)
        if isinstance(each, ast.Raise)
        and isinstance(each.exc, ast.Call)
        and isinstance(each.exc.func, ast.Name)
    }
    return {name for name in raised - caught if hasattr(errors, name)}


@pytest.mark.parametrize("room", ROOMS_WITH_ERRORS)
def test_a_public_function_names_the_errors_that_it_raises(room: str) -> None:
    silent = [
        f"{path.relative_to(ROOT)}: {node.name} {missing}"
        for path in sorted((ROOT / "tapmark" / room).glob("*.py"))
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_")
        for missing in raises_itself(node)
        if missing not in (ast.get_docstring(node) or "")
    ]

    assert silent == []


def test_public_functions_of_the_rooms_below_the_window_say_what_they_do() -> None:
    silent = [
        f"{path.relative_to(ROOT)}: {node.name}"
        for room in ROOMS_WITH_ERRORS
        for path in sorted((ROOT / "tapmark" / room).glob("*.py"))
        for node in ast.parse(path.read_text("utf-8")).body
        if isinstance(node, ast.FunctionDef | ast.ClassDef)
        and not node.name.startswith("_")
        and not ast.get_docstring(node)
    ]

    assert silent == []
