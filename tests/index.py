"""Write tapmark/INDEX.md anew, one line a module: python -m tests.index"""

import ast
import gc
from collections.abc import Iterator
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parent.parent
INDEX = ROOT / "tapmark/INDEX.md"
HEAD = """\
# Where to find what

One line a module or data file: what it is for, from its own first line. Written by
`python -m tests.index`; a test fails where it differs from the code.
"""


@cache
def parsed(path: Path) -> ast.Module:
    """Return the tree of a module; tests that read all of them parse each once.

    The collector rests meanwhile and leaves the nodes alone: it takes longer than the parser.
    """
    gc.disable()
    tree = ast.parse(path.read_text("utf-8"))
    gc.freeze()
    gc.enable()
    return tree


@cache
def walked(path: Path) -> tuple[ast.AST, ...]:
    """Return the nodes of a module in the order of ast.walk, found once as well."""
    return tuple(ast.walk(parsed(path)))


def first_line(path: Path) -> str:
    """Return the first docstring line of a module, the first comment of a data file; else ""."""
    text = path.read_text("utf-8")
    if path.suffix == ".toml":
        return text.partition("\n")[0].removeprefix("#").strip()
    return (ast.get_docstring(parsed(path)) or "").partition("\n")[0]


def lines() -> Iterator[str]:
    """Yield the index: each folder with what its package says, then its modules."""
    packages = {path.parent for path in INDEX.parent.rglob("__init__.py")}
    for folder in sorted(packages):
        inside = folder / "__init__.py"
        yield f"\n## {folder.relative_to(ROOT).as_posix()}\n"
        yield f"{first_line(inside)}\n"
        data = [path for path in folder.rglob("*.toml") if home_of(path, packages) == folder]
        for path in sorted([*folder.glob("*.py"), *data]):
            if path != inside:
                name = path.relative_to(folder).as_posix().removesuffix(".py")
                yield f"- `{name}` – {first_line(path)}"


def home_of(path: Path, packages: set[Path]) -> Path:
    """Return the package that a data file belongs to: the nearest one above it."""
    return next(folder for folder in path.parents if folder in packages)


def text() -> str:
    """Return the whole index."""
    return HEAD + "\n".join(lines()) + "\n"


def main() -> None:
    """Write it."""
    INDEX.write_text(text(), "utf-8")


if __name__ == "__main__":
    main()
