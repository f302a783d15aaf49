"""What is a value stays as it was made: no dataclass of the rooms that reckon can be changed."""

import dataclasses
import importlib
from pathlib import Path

PACKAGE = Path(__file__).parent.parent / "tapmark"
MODULES = [
    f"tapmark.{room}.{path.stem}"
    for room in ("geometry", "marks", "measures", "checklist")
    for path in sorted((PACKAGE / room).glob("*.py"))
    if path.stem != "__init__"
]
CHANGES = ["History"]  # the one thing that holds the values of then and now


def test_dataclasses_are_frozen() -> None:
    made = [
        each
        for name in MODULES
        for each in vars(importlib.import_module(name)).values()
        if isinstance(each, type) and dataclasses.is_dataclass(each) and each.__module__ == name
    ]

    loose = [each.__name__ for each in made if not each.__dataclass_params__.frozen]  # type: ignore[attr-defined]

    assert len(made) > 50
    assert loose == CHANGES
