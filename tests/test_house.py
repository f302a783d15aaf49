"""Sizes, dead code, types and docstrings; licences and files as the papers tell them."""

import ast
import re
import shutil
import subprocess
import tomllib
from collections.abc import Iterator
from importlib.metadata import metadata
from pathlib import Path

import pytest

from tapmark import errors
from tests.index import parsed, walked

ROOT = Path(__file__).parent.parent
MODULES = sorted((ROOT / "tapmark").rglob("*.py"))
BELOW_THE_WINDOW = [
    path
    for path in MODULES
    if path.relative_to(ROOT / "tapmark").parts[0] not in {"app", "cli.py", "__main__.py"}
]
MOST_BYTES = 2_000_000
BSD_TEXT = "Redistribution and use in source and binary forms"  # as numpy 1 tells it, in full
LICENCES = {
    "Pillow": "MIT-CMU",
    "imageio": "BSD 2-clause",
    "imageio-ffmpeg": "BSD 2-clause",
    "numpy": "BSD 3-clause",
}


def lengths(folder: str) -> Iterator[tuple[int, str]]:
    """Yield (lines without the docstring, where) of every function."""
    for path in sorted((ROOT / folder).rglob("*.py")):
        tree = parsed(path) if folder == "tapmark" else parsed.__wrapped__(path)
        for node in ast.walk(tree):
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


SOURCE = re.compile(
    r"from memory|[Cc]ommon practice|\bcalc\b|\b[Oo]urs\b|\bISO \d|10\.\d{4}/|\b(?:19|20)\d\d\b"
)
PLAIN = {0, 1, 2, 100, 1000}  # whole and half, per cent, thousandths: arithmetic, no finding


def numbers_without_source(path: Path) -> Iterator[str]:
    """Yield the numbers at the top of a module that nothing in their block gives a source.

    A block ends at an empty line: its constants share what a comment or a sentence in it says.
    """
    lines = path.read_text("utf-8").split("\n")
    for node in ast.parse("\n".join(lines)).body:
        if not isinstance(node, ast.Assign | ast.AnnAssign) or node.value is None:
            continue
        parts = [*ast.walk(node.value)]
        values = [each.value for each in parts if isinstance(each, ast.Constant)]
        if {abs(v) for v in values if type(v) in (int, float)} <= PLAIN:
            continue
        if any(isinstance(each, ast.Call) for each in parts):  # a row of the catalogue: see NAMES
            continue
        first, end = node.lineno - 1, node.end_lineno or node.lineno
        while first and lines[first - 1]:
            first -= 1
        while end < len(lines) and lines[end]:  # as for constants that share a sentence
            end += 1
        if not SOURCE.search(" ".join(lines[first:end])):
            yield f"{path.relative_to(ROOT)}:{node.lineno} {lines[node.lineno - 1]}"


def test_every_number_of_the_measures_says_where_it_is_from() -> None:
    """Authors and year, a DOI, or in words that there is none."""
    paths = [*(ROOT / "tapmark/measures").glob("*.py"), ROOT / "tapmark/geometry/scale.py"]
    assert [each for path in sorted(paths) for each in numbers_without_source(path)] == []


# Tests, but those of the measures, whose numbers stand for people, things or norms outside.
OF_THE_WORLD = (
    "app/coach.py",
    "checklist/made.py",
    "checklist/test_bands.py",
    "checklist/test_chain.py",
    "drawn_runner/body.py",
    "drawn_runner/coach.py",
    "drawn_runner/motion.py",
    "drawn_runner/stance.py",
    "drawn_runner/surroundings.py",
    "drawn_runner/test_*.py",
    "geometry/*.py",
    "long/choices.py",
    "long/coverage.py",
    "long/power.py",
    "long/retap.py",
    "marks/*.py",
    "report/made.py",
    "report/test_pdf.py",
    "report/test_photocopy.py",
    "test_facts_of_the_trade.py",
    "test_values.py",
)


def test_every_number_that_tests_hold_against_the_world_says_where_it_is_from() -> None:
    found = []
    for pattern in OF_THE_WORLD:
        paths = sorted((ROOT / "tests").glob(pattern))
        assert paths, pattern
        found += [each for path in paths for each in numbers_without_source(path)]
    assert found == []


def test_no_file_of_the_project_is_over_2_mb() -> None:
    if not shutil.which("git"):
        pytest.skip("no git on this computer to say which files belong to the project")
    listed = subprocess.run(
        ["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, encoding="utf-8"
    )
    if listed.returncode:
        pytest.skip("no git checkout here, so nobody says which files belong to the project")
    files = [ROOT / name for name in listed.stdout.split("\0") if name]
    large = [path.name for path in files if path.exists() and path.stat().st_size > MOST_BYTES]

    assert len(files) > 300
    assert large == []


def test_licences_named_in_readme_are_those_installed() -> None:
    readme = (ROOT / "README.md").read_text("utf-8")
    for name, licence in LICENCES.items():
        told = metadata(name)
        installed = f"{told.get('License-Expression') or told.get('License')}"

        is_named = bare(licence) in bare(installed)
        assert is_named or (licence.startswith("BSD") and BSD_TEXT in installed), name
        assert f"{name} ({licence}" in readme


def bare(licence: str) -> str:
    """Return a licence without hyphens, so that "BSD-3-Clause" is "bsd 3 clause"."""
    return licence.replace("-", " ").casefold()


def listed(table: str) -> set[str]:
    """Return the libraries that pyproject.toml lists under a name."""
    project = (ROOT / "pyproject.toml").read_text("utf-8")
    lines = project.partition(f"\n{table} = [")[2].partition("\n]")[0].splitlines()
    return {line.split('"')[1].split(">=")[0] for line in lines if '"' in line}


def test_readme_names_every_library_the_program_needs() -> None:
    assert listed("dependencies") == set(LICENCES)


def test_licences_of_the_libraries_of_the_tests_are_named_and_true() -> None:
    paper, names = (ROOT / "DEVELOPERS.md").read_text("utf-8"), listed("test")
    assert len(names) > 5
    for name in names:
        told = metadata(name)
        classes = [each for each in told.get_all("Classifier") or () if each.startswith("License")]
        installed = " ".join((told.get("License-Expression") or "", *classes)).replace("-", " ")
        found = re.search(rf"\b{name} \((MIT|BSD|MPL 2\.0)\)", paper)

        assert found and found[1] in installed, name


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
    "tapmark.cli.open_by_click": "the program without a console, named in pyproject.toml",
    "tapmark.clip.ffmpeg.stop_all": "called by Python when it ends",
    "tapmark.store.consent.STATES": "the words that consent_state returns",
}


def test_everything_public_is_reached_by_the_program_itself() -> None:
    """What only tests reach is dead, or promised and not yet wired: named above with its reason."""
    trees = {dotted(path): parsed(path) for path in MODULES}
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


def test_public_functions_below_the_window_name_the_errors_that_they_raise() -> None:
    silent = [
        f"{path.relative_to(ROOT)}: {node.name} {missing}"
        for path in BELOW_THE_WINDOW
        for node in walked(path)
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_")
        for missing in raises_itself(node)
        if missing not in (ast.get_docstring(node) or "")
    ]

    assert silent == []


def test_public_functions_below_the_window_say_what_they_do() -> None:
    silent = [
        f"{path.relative_to(ROOT)}: {node.name}"
        for path in BELOW_THE_WINDOW
        for node in parsed(path).body
        if isinstance(node, ast.FunctionDef | ast.ClassDef)
        and not node.name.startswith("_")
        and not ast.get_docstring(node)
    ]

    assert len(BELOW_THE_WINDOW) > 100
    assert silent == []


SMALL_LINES = 80
SMALL_WITH_ONE_READER: dict[str, str] = {}
"""Module -> why a test or a process boundary needs it as a file of its own."""


def readers(trees: dict[str, ast.Module]) -> dict[str, set[str]]:
    """Return for each module the others that import it, or something from it."""
    found: dict[str, set[str]] = {name: set() for name in trees}
    for name, tree in trees.items():
        for node in ast.walk(tree):
            if isinstance(node, ast.ImportFrom):
                for alias in node.names:
                    whole = f"{node.module}.{alias.name}"
                    found.get(whole, found.get(node.module or "", set())).add(name)
            elif isinstance(node, ast.Import):
                for alias in node.names:
                    found.get(alias.name, set()).add(name)
    return found


def test_no_small_module_has_a_single_reader() -> None:
    """What one module alone needs and fills no page belongs into that module."""
    paths = {dotted(path): path for path in MODULES if path.stem[:2] != "__"}
    read_by = readers({name: parsed(path) for name, path in paths.items()})
    small = {
        name
        for name, path in paths.items()
        if len(path.read_text("utf-8").splitlines()) < SMALL_LINES and len(read_by[name]) < 2
    }

    assert sorted(small) == sorted(SMALL_WITH_ONE_READER)


def test_readers_are_counted_whichever_way_a_module_is_imported() -> None:
    code = {
        "tapmark.a": "",
        "tapmark.b": "from tapmark import a",
        "tapmark.c": "from tapmark.a import f, g",
        "tapmark.d": "def f():\n    import tapmark.a",
    }

    found = readers({name: ast.parse(text) for name, text in code.items()})

    assert found["tapmark.a"] == {"tapmark.b", "tapmark.c", "tapmark.d"}
    assert not found["tapmark.b"]


MOST_FIELDS = 15


def fields(node: ast.ClassDef) -> set[str]:
    """Return the fields of a class: annotated in its body, or set on self in __init__."""
    found = {
        each.target.id
        for each in node.body
        if isinstance(each, ast.AnnAssign) and isinstance(each.target, ast.Name)
    }
    made = [f for f in node.body if isinstance(f, ast.FunctionDef) and f.name == "__init__"]
    return found | {
        each.attr
        for function in made
        for each in ast.walk(function)
        if isinstance(each, ast.Attribute)
        and isinstance(each.ctx, ast.Store)
        and ast.unparse(each.value) == "self"
    }


def test_no_value_of_what_is_open_or_shown_is_a_bag_of_everything() -> None:
    folders = (ROOT / "tapmark/app/state", ROOT / "tapmark/app/shell")
    paths = [path for folder in folders for path in sorted(folder.glob("*.py"))]
    wide = [
        f"{path.stem}.{node.name}"
        for path in paths
        for node in walked(path)
        if isinstance(node, ast.ClassDef) and len(fields(node)) > MOST_FIELDS
    ]

    assert paths and wide == []


def test_fields_are_counted_in_the_body_and_in_init() -> None:
    code = "class A:\n    a: int = 0\n    def __init__(self):\n        self.b, self.c = 1, 2"
    node = ast.parse(code).body[0]

    assert isinstance(node, ast.ClassDef) and fields(node) == {"a", "b", "c"}
