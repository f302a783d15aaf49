"""Undo and redo over frozen values: a list of what was, and a pointer into it."""

from dataclasses import dataclass, field
from typing import Generic, TypeVar

Value = TypeVar("Value")

LIMIT = 500


@dataclass(frozen=True)
class Entry(Generic[Value]):
    """A value and the label of the edit that led to it."""

    label: str
    value: Value


@dataclass
class History(Generic[Value]):
    """Past and undone values of one thing; the thing itself never changes.

    A drag is recorded with amend=True, so that it becomes one step to undo.
    """

    start: Value
    limit: int = LIMIT
    _entries: list[Entry[Value]] = field(init=False)
    _at: int = field(init=False, default=0)

    def __post_init__(self) -> None:
        self._entries = [Entry("", self.start)]

    @property
    def value(self) -> Value:
        """The value as it is now."""
        return self._entries[self._at].value

    @property
    def undo_label(self) -> str:
        """What undo would take back, "" when there is nothing."""
        return self._entries[self._at].label if self._at else ""

    @property
    def redo_label(self) -> str:
        """What redo would bring back, "" when there is nothing."""
        after = self._entries[self._at + 1 :]
        return after[0].label if after else ""

    def record(self, label: str, value: Value, *, amend: bool = False) -> bool:
        """Keep a new value; return False when it changes nothing.

        amend folds it into the last edit when that has the same label.
        """
        if value == self.value:
            return False
        folds = amend and self.undo_label == label
        del self._entries[self._at + (0 if folds else 1) :]
        self._entries.append(Entry(label, value))
        del self._entries[: max(0, len(self._entries) - self.limit)]
        self._at = len(self._entries) - 1
        return True

    def undo(self) -> Value:
        """Step back; at the first value nothing happens."""
        self._at = max(0, self._at - 1)
        return self.value

    def redo(self) -> Value:
        """Step forward; at the last value nothing happens."""
        self._at = min(len(self._entries) - 1, self._at + 1)
        return self.value
