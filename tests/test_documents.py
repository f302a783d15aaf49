"""README, DEVELOPERS.md, the index and the figures cannot lie: names, tables, links are checked."""

import ast
import importlib
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

from tapmark.measures.catalogue import ROWS
from tests import index
from tests.index import walked
from tests.test_import_directions import APP_LAYERS, MAY_IMPORT, PAGE_FOLDERS

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text("utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text("utf-8")
PACKAGE = ROOT / "tapmark"


LONGEST = 200
FIGURES = {
    folder: (ROOT / "tests" / folder / "figures.md").read_text("utf-8")
    for folder in ("benchmarks", "long")
}


def table(text: str, first: str) -> Iterator[list[str]]:
    """Yield the rows, as cells, of the table whose first column has that heading."""
    _, found, below = text.partition(f"\n| {first} |")
    assert found, first
    for line in below.splitlines()[2:]:
        if not line.startswith("|"):
            return
        yield [cell.strip() for cell in line.strip("|").split(" | ")]


def test_developers_can_be_read_in_one_sitting() -> None:
    assert len(DEVELOPERS.splitlines()) <= LONGEST


def test_table_of_packages_is_what_may_import_what() -> None:
    told: dict[str, set[str]] = {}
    for name, _, allowed in table(DEVELOPERS, "package"):
        above = set(told) if allowed == "all above" else set(allowed.split(", ")) - {"nothing"}
        told[name.strip("`/")] = above

    assert told == {name: may for name, may in MAY_IMPORT.items() if name[:2] != "__"}
    assert set(told) == {path.stem for path in PACKAGE.iterdir() if is_package(path)}


def is_package(path: Path) -> bool:
    if path.is_dir():
        return (path / "__init__.py").exists()
    return path.suffix == ".py" and path.stem not in {"__init__", "__main__"}


def test_table_of_the_window_names_its_layers_from_the_lowest_up() -> None:
    told = [re.findall(r"`(\w+)`", cells[0]) for cells in table(DEVELOPERS, "in `tapmark/app`")]
    *layers, pages = APP_LAYERS
    folders = {path.name for path in (PACKAGE / "app").iterdir() if (path / "__init__.py").exists()}

    assert pages == "pages" and told == [*([layer] for layer in layers), list(PAGE_FOLDERS)]
    assert folders | {"jobs"} == {name for names in told for name in names}


def test_index_is_what_the_modules_say() -> None:
    assert index.INDEX.read_text("utf-8") == index.text(), "run python -m tests.index"


def test_first_lines_of_modules_are_one_whole_line_each_and_none_twice() -> None:
    files = [*PACKAGE.rglob("*.py"), *PACKAGE.rglob("*.toml")]
    said = [index.first_line(path) for path in files]
    odd = [line for line in said if not re.fullmatch(r"\S.{15,}[.?!]", line)]

    assert len(said) > 100 and odd == []
    assert len(said) == len(set(said))


def test_figures_are_of_programs_that_exist_and_stand_nowhere_else() -> None:
    for folder, text in FIGURES.items():
        named = [cells[0] for cells in table(text, "program")]
        assert named and len(named) == len(set(named))
        for name in named:
            assert (ROOT / "tests" / folder / f"{name}.py").exists(), name
            assert f"`tests.{folder}.{name}`" not in DEVELOPERS


def test_programs_that_stand_in_strings_import_what_there_is() -> None:
    """What a benchmark hands to another Python is read by nobody until it runs."""
    lines = {
        line.strip()
        for path in [*ROOT.glob("tests/benchmarks/*.py"), *ROOT.glob("tests/long/*.py")]
        for node in walked(path)
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
        for line in re.findall(r"^ *(?:from|import) tapmark[\w.]*.*$", node.value, re.MULTILINE)
    }

    assert lines
    for line in lines:
        if line.startswith("from"):
            module, _, names = line.removeprefix("from ").partition(" import ")
            for name in names.split(", "):
                find(f"{module}.{name}")
        else:
            find(line.removeprefix("import "))


def test_figures_of_measures_are_of_measures_that_exist() -> None:
    named = {cells[0].split(" ")[0] for cells in table(FIGURES["long"], "measure")}

    assert len(named) > 20
    assert named <= {row.key for row in ROWS}


def test_mutants_that_change_nothing_are_of_modules_that_exist() -> None:
    argued = tomllib.loads((ROOT / "tests/long/equivalent.toml").read_text("utf-8"))

    assert argued
    assert [name for name in argued if not (ROOT / name).exists()] == []


NAMES = sorted(set(re.findall(r"`(tapmark(?:\.\w+)+)`", DEVELOPERS)))


def test_every_name_in_developers_exists() -> None:
    assert len(NAMES) > 20
    for name in NAMES:
        find(name)


def find(name: str) -> object:
    """Import a dotted name; fails where there is none."""
    module, attributes = name, []
    while True:
        try:
            found = importlib.import_module(module)
            break
        except ModuleNotFoundError:
            module, _, attribute = module.rpartition(".")
            assert module, f"{name}: no such module"
            attributes.insert(0, attribute)
    for attribute in attributes:
        found = getattr(found, attribute)
    return found


def test_files_and_pictures_named_in_documents_exist() -> None:
    for text in (README, DEVELOPERS, *FIGURES.values()):
        linked = re.findall(r"\]\(([^)#:]+)\)", text)
        quoted = re.findall(r"`((?:tapmark|tests|sample_frames|\.ci)/[\w./-]+)`", text)

        assert [name for name in (*linked, *quoted) if not (ROOT / name).exists()] == []
    assert re.search(r"\]\((tests/pictures/[\w./-]+)\)", README)


def test_top_level_is_what_it_must_be() -> None:
    fixed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "LICENSE"}
    fixed |= {"tapmark", "tests", "sample_frames"}
    # What building and testing leave behind is ignored by git and not part of the project.
    passing = {"build", "dist", "venv", "tapmark-demo"}
    found = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}

    assert fixed <= found <= fixed | passing
