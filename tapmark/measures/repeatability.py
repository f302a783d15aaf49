"""The coach's own error: second looks, drift over months, two coaches on one run."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from tapmark.geometry.uncertainty import Z95, t_factor
from tapmark.marks.run import KeyFrame, Run, Step
from tapmark.measures.card import DEFAULT_CARD, Card, OwnSd, kind_of
from tapmark.measures.compute import measure_run
from tapmark.measures.result import Measured
from tapmark.measures.setting import setting_of

__all__ = ["DEFAULT_CARD", "Card", "OwnSd", "kind_of"]  # the card is used by every measure
_COVERAGE_OF_EACH = 0.975  # calc: two directions are looked at, so that 95 % hold both


@dataclass(frozen=True)
class Pair:
    """One point tapped twice: second − first, in % of leg, forward and up as the runner goes."""

    i_step: int
    event: str
    point: str
    forward_pct_leg: float
    up_pct_leg: float

    @property
    def kind(self) -> str:
        """The kind of point, near and far together."""
        return kind_of(self.point)

    @property
    def apart_pct_leg(self) -> float:
        """How far the two taps lie apart, in % of leg."""
        return float(np.hypot(self.forward_pct_leg, self.up_pct_leg))


@dataclass(frozen=True)
class Shift:
    """A steady shift of one kind of point between earlier and later taps.

    forward_pct_leg, up_pct_leg: mean of later − earlier.
    plus_minus: half-widths by t that hold both at once in 95 %; None for a single pair.
    is_steady: True where either mean lies farther from nothing than its half-width.
    """

    kind: str
    forward_pct_leg: float
    up_pct_leg: float
    plus_minus: tuple[float, float] | None
    n_pairs: int

    @property
    def is_steady(self) -> bool:
        if self.plus_minus is None:
            return False
        means = self.forward_pct_leg, self.up_pct_leg
        return any(abs(mean) > half for mean, half in zip(means, self.plus_minus, strict=True))


@dataclass(frozen=True)
class RowDifference:
    """One row of one run by two coaches: b − a, and the ± that both markings allow."""

    key: str
    leg: str
    by_a: float
    by_b: float
    difference: float
    plus_minus: float


def second_look_pairs(run: Run) -> tuple[Pair, ...]:
    """Return every point of a run's second look beside its first tap."""
    pairs: list[Pair] = []
    for i_step, step in enumerate(run.steps):
        again = [f for frame in step.key_frames for f in step.looks(frame.event)]
        pairs += _pairs(run, i_step, step, step.key_frames, again)
    return tuple(pairs)


def pairs_between(earlier: Run, later: Run) -> tuple[Pair, ...]:
    """Return points of two markings of one run, where both chose the same picture.

    Taps on different pictures are different things and are not paired.
    """
    pairs: list[Pair] = []
    for i_step, (first, second) in enumerate(zip(earlier.steps, later.steps, strict=False)):
        chosen = {frame.event: frame.picture for frame in first.key_frames}
        same = [f for f in second.key_frames if chosen.get(f.event) == f.picture]
        pairs += _pairs(earlier, i_step, first, first.key_frames, same)
    return tuple(pairs)


def own_sd_pct_leg(pairs: Sequence[Pair]) -> float:
    """Return the SD of one coordinate of one tap, √(Σ(dx² + dy²) ÷ 4n), in % of leg."""
    return float((sum(pair.apart_pct_leg**2 for pair in pairs) / (4.0 * len(pairs))) ** 0.5)


def card_of(pairs: Sequence[Pair]) -> Card:
    """Return a coach's card from second looks: one SD for each kind of point."""
    return Card(
        tuple(
            OwnSd(kind, own_sd_pct_leg(of_kind), len(of_kind)) for kind, of_kind in by_kind(pairs)
        )
    )


def shift_in_words(shift: Shift) -> str:
    """Return what a shift between earlier and later taps means, in a sentence."""
    if not shift.is_steady:
        return f"No steady shift of the {shift.kind} in {shift.n_pairs} taps."
    ways = ((shift.forward_pct_leg, "forward", "back"), (shift.up_pct_leg, "up", "down"))
    told = " and ".join(
        f"{abs(by):.1f} % of leg {plus if by > 0 else minus}" for by, plus, minus in ways
    )
    return f"The {shift.kind} is now tapped {told} of where it was ({shift.n_pairs} taps)."


def steady_shifts(pairs: Sequence[Pair]) -> tuple[Shift, ...]:
    """Return the mean shift of each kind of point: drift over months, or a coach's own habit."""
    return tuple(_shift(kind, of_kind) for kind, of_kind in by_kind(pairs))


def row_differences(a: Run, b: Run, card: Card = DEFAULT_CARD) -> tuple[RowDifference, ...]:
    """Return every row that two coaches got from one run, side by side; never averaged."""
    found, rows_b = [], measure_run(b, card).rows
    for (key, leg), by_a in measure_run(a, card).rows.items():
        by_b = rows_b.get((key, leg))
        if isinstance(by_a, Measured) and isinstance(by_b, Measured):
            # What one and the same set-up cannot explain.
            u = float(sum(m.u_one_step**2 / m.n_steps for m in (by_a, by_b)) ** 0.5)
            values = by_a.value, by_b.value, by_b.value - by_a.value
            found.append(RowDifference(key, leg, *values, Z95 * u))
    return tuple(found)


def _pairs(
    run: Run, i_step: int, step: Step, first: Iterable[KeyFrame], second: Iterable[KeyFrame]
) -> Iterator[Pair]:
    leg_px = setting_of(run, step).leg_px
    earlier = {frame.event: frame for frame in first}
    for frame in second:
        for tap in frame.taps:
            before = earlier[frame.event].at(tap.point) if frame.event in earlier else None
            if leg_px and before and tap.at_px:
                right, down = tap.at_px[0] - before[0], tap.at_px[1] - before[1]
                forward = 100.0 * run.travel_sign * right / leg_px
                yield Pair(i_step, frame.event, tap.point, forward, -100.0 * down / leg_px)


def by_kind(pairs: Sequence[Pair]) -> Iterator[tuple[str, list[Pair]]]:
    """Yield each kind of point with its pairs."""
    for kind in dict.fromkeys(pair.kind for pair in pairs):
        yield kind, [pair for pair in pairs if pair.kind == kind]


def _shift(kind: str, pairs: Sequence[Pair]) -> Shift:
    moves = np.array([(pair.forward_pct_leg, pair.up_pct_leg) for pair in pairs])
    forward, up = moves.mean(axis=0)
    half = None
    if len(pairs) > 1:
        factor = t_factor(len(pairs) - 1, _COVERAGE_OF_EACH)
        halves = factor * moves.std(axis=0, ddof=1) / len(pairs) ** 0.5
        half = (float(halves[0]), float(halves[1]))
    return Shift(kind, float(forward), float(up), half, len(pairs))
