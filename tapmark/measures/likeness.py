"""May two visits be compared? Like with like, or with a label, or not at all."""

from dataclasses import dataclass

from tapmark.marks.run import Run
from tapmark.measures.result import Results

# Common practice, no source: below 85 % people run another way.
LEAST_EFFORT, LARGEST_EFFORT_GAP = 8.5, 1
_RATES_ALIKE = 0.75  # ours
_LENGTHS = ("% leg", "cm")
_TIMES = ("ms", "/s")
GROWN = "the athlete has grown since"
MARKED_BY, RATE = "marked by", "frames per second"
"""How the labels begin that are no news to the athlete."""
# Boys through their growth spurt: step rate +2.7 % and contact −3.6 % in 21 months, and the other
# way round before it, without any change of technique (Meyers 2016, The influence of maturation on
# sprint performance in boys over a 21-month period; abstract read).
_GROWN_TIMES = (
    "The athlete has grown since: times and step rate change by that alone, so none is called "
    "moved."
)


@dataclass(frozen=True)
class Likeness:
    """What stands against a comparison.

    refused:          sentences, each of them enough to refuse every row.
    refused_lengths:  the same for rows in % of leg and in cm.
    labels:           what differs but may be compared, to print beside it.
    """

    refused: tuple[str, ...] = ()
    refused_lengths: tuple[str, ...] = ()
    labels: tuple[str, ...] = ()

    def why_not(self, unit: str) -> str:
        """Return why rows of a unit cannot be compared, or ""."""
        reasons = self.refused + (self.refused_lengths if unit in _LENGTHS else ())
        if GROWN in self.labels and unit in _TIMES:
            reasons += (_GROWN_TIMES,)
        return next(iter(reasons), "")


def likeness(before: Run, after: Run, results_before: Results, results_after: Results) -> Likeness:
    """Compare the set-ups of two visits, by a run of each and their results."""
    trunk_points = ["neck base" if r.set_up.uses_neck_base else "shoulder" for r in (before, after)]
    refused = (
        _differ("another view", before.view, after.view),
        _differ("another kind of running", before.set_up.context, after.set_up.context),
        _differ("another foot near the camera", before.near_side, after.near_side),
        _efforts(before.set_up.effort, after.set_up.effort),
        _differ("another trunk point", *trunk_points),
    )
    lengths = (_leg_sources(results_before.leg_source, results_after.leg_source),)
    labels = (
        *(
            _label(what, getattr(before.set_up, what), getattr(after.set_up, what))
            for what in ("shoes", "surface", "wind", "zone")
        ),
        _label(MARKED_BY, before.marked_by, after.marked_by),
        _rates(results_before.rate_hz, results_after.rate_hz),
        GROWN if after.set_up.has_grown else "",
    )
    return Likeness(*(tuple(filter(None, each)) for each in (refused, lengths, labels)))


def _differ(what: str, before: object, after: object) -> str:
    return "" if before == after else f"Different runs: {what} ({before}, then {after})."


def _leg_sources(before: str, after: str) -> str:
    if before == after:
        return ""
    return (
        f"Leg length came from {before or 'nowhere'}, then from {after or 'nowhere'}: lengths in % "
        "of leg are not the same measure. Use one way for both."
    )


def _efforts(before: int | None, after: int | None) -> str:
    if before is None or after is None:
        return ""
    if min(before, after) < LEAST_EFFORT:
        return (
            f"Different run: effort {before}, then {after} of 10; below 85 % nothing is compared."
        )
    if abs(after - before) > LARGEST_EFFORT_GAP:
        return f"Different run: effort {before}, then {after} of 10."
    return ""


def _label(what: str, before: str, after: str) -> str:
    return f"{what}: {before}, then {after}" if before and after and before != after else ""


def _rates(before: float | None, after: float | None) -> str:
    if not before or not after or min(before, after) / max(before, after) > _RATES_ALIKE:
        return ""
    return f"{RATE}: {before:.0f}, then {after:.0f}"
