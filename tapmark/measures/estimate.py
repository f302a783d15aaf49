"""One row of one step, or of several pooled: a value and what its doubt is made of."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from tapmark.geometry.uncertainty import shares
from tapmark.marks.points import OPPOSITE_TOUCHDOWN, TOE_OFF, TOUCHDOWN
from tapmark.measures.doubts import THE_FRAME, Name
from tapmark.measures.formulas import FORMULAS
from tapmark.measures.posture import Posture
from tapmark.measures.result import Measured
from tapmark.measures.row import Row

# A first picture touching is on average half an interval late, a last one half an interval early.
_HALF_LATE = {TOUCHDOWN: 0.5, TOE_OFF: -0.5, OPPOSITE_TOUCHDOWN: 0.5}
# These add or take away one interval, which evens it out; the others carry it in their ±.
_EVENED_OUT = ("contact_time", "flight_time", "far_contact_time", "duty_factor")
_HALF_PICTURE: Name = ("half a picture",)
_NOTHING = 1e-12


@dataclass(frozen=True)
class Share:
    """One source's signed part in the doubt of a value, in the row's unit."""

    name: Name
    words: str
    sd: float
    is_shared: bool


@dataclass(frozen=True)
class Estimate:
    """A row as read from one step."""

    row: Row
    leg: str
    value: float
    shares: tuple[Share, ...]
    is_about: bool = False
    not_graded: str = ""
    capped: str = ""


def estimate(row: Row, leg: str, posture: Posture) -> tuple[float, tuple[Share, ...]]:
    """Return a row's value and the shares of its doubt.

    Each doubt moves the formula; on top of it a key frame chosen early or late moves the runner,
    at the row's typical rate.
    """
    results = FORMULAS[row.key](posture, leg)
    sds = shares(results)
    late = 0.0
    rates = row.rates_of(leg, posture.setting.contact_s)
    for frame in posture.step.key_frames:
        i = posture.column[frame.event, "time"]
        sds[i] += rates.get(frame.event, 0.0) * posture.doubts[i].sd
        per_interval = sds[i] / posture.doubts[i].sd * posture.setting.interval_s(frame)
        late += _HALF_LATE.get(frame.event, 0.0) * per_interval
    late = 0.0 if row.key in _EVENED_OUT else late
    told = []
    for place in np.flatnonzero(~(np.abs(sds) <= _NOTHING)):
        doubt = posture.doubts[place]
        told.append(Share(doubt.name, doubt.words, float(sds[place]), doubt.is_shared))
    if abs(late) > _NOTHING:
        told.append(Share(_HALF_PICTURE, THE_FRAME, float(late), True))
    return float(results[0]), tuple(told)


def pooled(estimates: Sequence[Estimate]) -> Measured:
    """Return the mean over steps; own shares shrink with √n, shared ones keep their size.

    Steps that may not be graded are left out where another one may. One step read behind the leg
    caps the whole row.
    """
    usable = [each for each in estimates if not each.not_graded] or list(estimates)
    row, values = usable[0].row, np.array([each.value for each in usable])
    own, shared = _own_squares(usable), _shared_squares(usable)
    return Measured(
        key=row.key,
        leg=usable[0].leg,
        value=float(np.mean(values)),
        u=float(sum([*own.values(), *shared.values()]) ** 0.5),
        unit=row.unit,
        parts=_largest_first(own, shared),
        digits=row.digits,
        is_about=any(each.is_about for each in usable),
        not_graded=usable[0].not_graded,
        capped=next((each.capped for each in usable if each.capped), ""),
        n_steps=len(usable),
        scatter=float(np.std(values, ddof=1)) if len(usable) > 1 else None,
        u_set_up=float(sum(shared.values()) ** 0.5),
    )


def _own_squares(estimates: Sequence[Estimate]) -> dict[str, float]:
    """Return words → variance of the mean, of what is new in every step."""
    squares: dict[str, float] = {}
    for share in (share for each in estimates for share in each.shares if not share.is_shared):
        squares[share.words] = squares.get(share.words, 0.0) + (share.sd / len(estimates)) ** 2
    return squares


def _shared_squares(estimates: Sequence[Estimate]) -> dict[str, float]:
    """Return words → variance of the mean, of what all steps have in common: added with signs."""
    together: dict[Name, float] = {}
    words: dict[Name, str] = {}
    for share in (share for each in estimates for share in each.shares if share.is_shared):
        together[share.name] = together.get(share.name, 0.0) + share.sd / len(estimates)
        words[share.name] = share.words
    squares: dict[str, float] = {}
    for name, sd in together.items():
        squares[words[name]] = squares.get(words[name], 0.0) + sd**2
    return squares


def _largest_first(*squares: Mapping[str, float]) -> tuple[tuple[str, float], ...]:
    together: dict[str, float] = {}
    for words, square in (item for each in squares for item in each.items()):
        together[words] = together.get(words, 0.0) + square
    parts = [(words, square**0.5) for words, square in together.items()]
    return tuple(sorted(parts, key=lambda part: -part[1]))
