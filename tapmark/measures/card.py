"""How sure a tap is: usual scatter by kind of point, and the coach's own once it is known.

All SDs are for one coordinate of one tap, in % of leg length.
"""

from dataclasses import dataclass

# Working values for clothed joints in a side-on clip: common practice, no source; 1.1 % of a leg is
# 1 cm, which fits the 2.6° between raters of Guadagnin 2025, 10.20338/bjmb.v19i1.468.
DEFAULT_PCT_LEG = {
    "knee": 1.1,
    "ankle": 1.1,
    "elbow": 1.1,
    "toe": 1.1,
    "heel": 1.1,
    "wrist": 1.1,
    "hip": 2.2,
    "shoulder": 1.6,
    "neck base": 1.6,
    "heel centre": 1.1,
    "forefoot centre": 1.1,
    "free end": 1.1,
}
FREE_END = "free end"  # of a line or angle that the coach draws
# Ours: pairs of taps that the default counts for; a second look misses a steady bias.
_WEIGHT_OF_DEFAULT = 10
_NEVER_BELOW = 0.6  # of the default


@dataclass(frozen=True)
class OwnSd:
    """What the second looks gave for one kind of point.

    kind:     "hip", "knee", … (near and far together).
    pct_leg:  SD of one coordinate in % of leg length.
    n_pairs:  how many points were tapped twice.
    """

    kind: str
    pct_leg: float
    n_pairs: int


@dataclass(frozen=True)
class Card:
    """A coach's own error card; empty until somebody has looked twice."""

    own: tuple[OwnSd, ...] = ()

    def sd_pct_leg(self, point: str) -> float:
        """Return the SD of one coordinate of a tap, in % of leg length.

        Own and default are blended as variances, the default with the weight of ten pairs.
        """
        kind = kind_of(point)
        default = DEFAULT_PCT_LEG[kind]
        own = next((each for each in self.own if each.kind == kind), None)
        if own is None:
            return default
        weighed = _WEIGHT_OF_DEFAULT * default**2 + own.n_pairs * own.pct_leg**2
        blended = float((weighed / (_WEIGHT_OF_DEFAULT + own.n_pairs)) ** 0.5)
        return max(blended, _NEVER_BELOW * default)


DEFAULT_CARD = Card()


def kind_of(point: str) -> str:
    """Return the kind of a point: "near knee" and "far knee" are both "knee"."""
    return point.removeprefix("near ").removeprefix("far ")
