"""Sizes of functions, modules and files; what a coach sends when asking for help."""

import ast
import re
import subprocess
from collections.abc import Iterator
from importlib.metadata import metadata
from pathlib import Path
from statistics import median

import pytest

ROOT = Path(__file__).parent.parent
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


@pytest.mark.parametrize("folder", ["tapmark", "tests"])
def test_functions_are_short(folder: str) -> None:
    counted = list(lengths(folder))

    assert median(lines for lines, _ in counted) <= 8
    assert [where for lines, where in counted if lines > 50] == []


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
    installed = f"{told['License-Expression'] or told['License']}".replace("-Clause", " clause")

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
