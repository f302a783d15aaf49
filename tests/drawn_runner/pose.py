"""A runner at one instant, in picture pixels: what the painters work from."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from tests.drawn_runner.curves import Array
from tests.drawn_runner.relief import Nodes, Part


@dataclass(frozen=True)
class Pose:
    """A runner at one instant, in picture px: points by name, height and facing.

    smear: how far each shoe (near, far) moves while the shutter is open, px.
    """

    points: Mapping[str, Array]
    height: float
    facing: int
    smear: Mapping[str, Array]

    def at(self, name: str) -> tuple[float, float]:
        x, y = self.points[name]
        return float(x), float(y)

    def between(self, a: str, b: str, share: float) -> tuple[float, float]:
        """The point a share of the way from a to b; may lie beyond either."""
        x, y = self.points[a] + share * (self.points[b] - self.points[a])
        return float(x), float(y)

    def part(
        self, start: tuple[float, float], end: tuple[float, float], nodes: Nodes, flat: bool = False
    ) -> Part:
        """A part that hangs down from start to end, thickness in standing heights."""
        scaled = tuple((s, f * self.height, b * self.height) for s, f, b in nodes)
        return Part(start, end, scaled, self.facing, flat)

    def rising_part(
        self, start: tuple[float, float], end: tuple[float, float], nodes: Nodes, flat: bool = False
    ) -> Part:
        """The same for a part that stands up from start to end."""
        return replace(self.part(start, end, nodes, flat), facing=-self.facing)
