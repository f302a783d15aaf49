"""Where the words of a language lie, and how a file of them is read into single texts."""

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Final

from tapmark.checklist.reading import Table

FOLDER: Final = Path(__file__).parent / "words"
ENGLISH: Final = FOLDER / "en.toml"

Leaves = Mapping[str, str]  # dotted key -> text


def leaves_of(table: Table, prefix: str = "") -> Iterator[tuple[str, str]]:
    """Yield every text below a table with its dotted key."""
    for name, value in table.values.items():
        if isinstance(value, dict):
            yield from leaves_of(table.table(name), f"{prefix}{name}.")
        elif prefix or name != "format":
            yield f"{prefix}{name}", table.text(name)
