"""Two runs beside each other: two dates of one athlete, or two athletes; figures, never faces."""

from collections.abc import Mapping
from dataclasses import dataclass

from tapmark.checklist.words import Words
from tapmark.drawing.body import Pose


@dataclass(frozen=True)
class Half:
    """One of the two runs.

    poses:     key frame -> pose: running to the right, in the scale of the runner's own legs, so
               that figures laid on one hip may be looked at together.
    side:      the side near the camera, "right" or "left".
    facts:     what may make it different: kind of running, effort, shoes, surface.
    was_turned: the run went right to left in its pictures and is shown turned round.
    """

    code: str
    dated: str
    poses: Mapping[str, Pose]
    side: str
    facts: tuple[str, ...] = ()
    was_turned: bool = False


@dataclass(frozen=True)
class BesideRow:
    """One measure of both halves, printed with its ±; "–" where it was not measured.

    word: "moved", "same" or "can't tell", only for a current priority; "" for every other row.
    """

    name: str
    first: str
    second: str
    unit: str
    word: str = ""


@dataclass(frozen=True)
class BesideContent:
    """Two runs, ready to be drawn.

    events:   key frames that both have, in order of time.
    is_same:  one athlete on two dates; False for two athletes, who are different, not better.
    refused:  why the numbers cannot be compared; the figures may be looked at all the same.
    labels:   what differs and is compared all the same.
    """

    first: Half
    second: Half
    events: tuple[str, ...]
    rows: tuple[BesideRow, ...]
    words: Words
    is_same: bool = True
    refused: tuple[str, ...] = ()
    labels: tuple[str, ...] = ()
