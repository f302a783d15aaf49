"""README and DEVELOPERS.md cannot lie: rooms, names, commands and links are checked."""

import importlib
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text("utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text("utf-8")
PACKAGE = ROOT / "tapmark"


def test_rooms_table_names_every_room_and_no_other() -> None:
    on_disk = {path.stem for path in PACKAGE.iterdir() if is_room(path)}

    assert on_disk == set(re.findall(r"^\| `(\w+)/?`", DEVELOPERS, re.MULTILINE))


def is_room(path: Path) -> bool:
    if path.is_dir():
        return (path / "__init__.py").exists()
    return path.suffix == ".py" and path.stem not in {"__init__", "__main__"}


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


@pytest.mark.parametrize("text", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_files_and_pictures_named_in_documents_exist(text: str) -> None:
    linked = re.findall(r"\]\(([^)#:]+)\)", text)
    quoted = re.findall(r"`((?:tapmark|tests|sample_frames|\.ci)/[\w./-]+)`", text)

    missing = [name for name in (*linked, *quoted) if not (ROOT / name).exists()]

    assert linked + quoted and not missing


def test_every_module_says_what_it_is_for() -> None:
    silent = [
        path.relative_to(ROOT).as_posix()
        for path in PACKAGE.rglob("*.py")
        if path.stat().st_size and not path.read_text("utf-8").lstrip().startswith('"""')
    ]

    assert silent == []


def test_top_level_is_what_it_must_be() -> None:
    fixed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "LICENSE"}
    fixed |= {"tapmark", "tests", "sample_frames"}
    # What building and testing leave behind is ignored by git and not part of the project.
    passing = {"build", "dist", "venv", "tapmark-demo"}
    found = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}

    assert fixed <= found <= fixed | passing
