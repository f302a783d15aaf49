"""How to choose each key frame, in two plain sentences."""

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True)
class Rule:
    """Which picture to take, and what to do in doubt."""

    take: str
    doubt: str

    @property
    def words(self) -> str:
        """Both sentences."""
        return f"{self.take} {self.doubt}"


RULES: Final = {
    "touchdown": Rule(
        "The first picture in which any part of the near shoe is on the ground.",
        "If the shoe is lower in the next picture, take the next.",
    ),
    "mid-stance": Rule(
        "The picture in which the hip is straight above the near ankle bone.",
        "Of two equally good ones, take the earlier.",
    ),
    "toe-off": Rule(
        "The last picture in which the tip of the near shoe still touches the ground.",
        "If it is blurred, take the earlier.",
    ),
    "peak knee lift": Rule(
        "The picture in which the far knee is highest, near toe-off.",
        "Where it seems still for a while, take the middle.",
    ),
    "opposite touchdown": Rule(
        "The first picture in which any part of the far shoe is on the ground.",
        "If the shoe is lower in the next picture, take the next.",
    ),
    "last contact": Rule(
        "The last picture in which the shoe still touches the ground.",
        "If it is blurred, take the earlier.",
    ),
    "most turned": Rule(
        "The picture in which the heel is turned most, within a few pictures after.",
        "Where it seems still, take the middle.",
    ),
}
