"""The clips of one evening and whose they are, as frozen values."""

from dataclasses import dataclass

STATES = ("to name", "named", "skipped")


@dataclass(frozen=True)
class Shot:
    """One clip of an evening; path is from the folder of squad.json, code "" until it is named."""

    path: str
    fingerprint: str
    code: str = ""
    state: str = "to name"
    note: str = ""


@dataclass(frozen=True)
class ShotList:
    """The clips of one evening in the order in which they were filmed."""

    dated: str
    shots: tuple[Shot, ...] = ()
    extra: tuple[tuple[str, object], ...] = ()

    def next_unnamed(self, after: int = -1) -> int | None:
        """Return the number of the next shot without a name after one, or None at the end."""
        open_ones = [i for i, s in enumerate(self.shots) if s.state == "to name" and i > after]
        return open_ones[0] if open_ones else None
