"""One row of one step, or of several pooled: a value and what its doubt is made of."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import copysign, hypot

import numpy as np

from tapmark.geometry.uncertainty import shares
from tapmark.marks.points import OPPOSITE_TOUCHDOWN, TOE_OFF, TOUCHDOWN
from tapmark.marks.run import Run
from tapmark.measures.doubts import BODY, OFF_AXIS, SQUARENESS, THE_FRAME, THE_STOPWATCH, Name
from tapmark.measures.formulas import FORMULAS
from tapmark.measures.posture import Posture
from tapmark.measures.result import Measured
from tapmark.measures.row import Row

# A first picture touching is on average half an interval late, a last one half an interval early.
_HALF_LATE = {TOUCHDOWN: 0.5, TOE_OFF: -0.5, OPPOSITE_TOUCHDOWN: 0.5}
# These add or take away one interval, which evens it out; the others carry it in their ±.
_EVENED_OUT = ("contact_time", "flight_time", "far_contact_time", "duty_factor")
_BIAS = "known bias"
_BENT_OTHERWISE = 1 / 3  # of a usual bend, 1 SD between people: common practice, no source
_NOTHING = 1e-12
_A_LITTLE_S = 1e-5  # for a difference quotient
_STOPWATCH_SHARE = 0.02  # 0.02 s on 10 m at 10 m/s by hand-held gates; common practice, no source


@dataclass(frozen=True)
class Share:
    """One source's signed part in the doubt of a value, in the row's unit.

    doubt:   of a known bias, how far it may be off itself (1 SD); 0 for every other source.
    of_slip: of a known bias, what taking it off does to the variance of the value, because its rate
             goes by the contact, and the contact is read from the same key frames.
    """

    name: Name
    words: str
    sd: float
    is_shared: bool
    doubt: float = 0.0
    of_slip: float = 0.0


@dataclass(frozen=True)
class Estimate:
    """A row as read from one step."""

    row: Row
    leg: str
    value: float
    shares: tuple[Share, ...]
    is_about: bool
    not_graded: str = ""
    capped: str = ""


def estimate(row: Row, leg: str, posture: Posture) -> tuple[float, tuple[Share, ...]]:
    """Return a row's value and the shares of its doubt.

    Each doubt moves the formula; on top of it a key frame chosen early or late moves the runner,
    at the row's typical rate. Two errors have a known direction, half a picture and what the
    depth of a body does off the camera's axis: they are added with their signs into one share, the
    bias (JCGM 200:2012, 2.18). It is carried in the ± and not taken off the value, which stays
    what the taps show. Half a picture moves a row at its usual rate, and nobody's limbs turn quite
    at that: the bias carries that doubt. The depth of a body has a doubt of its own, far side etc.
    """
    results = FORMULAS[row.key](posture, leg)
    sds = shares(results)
    own_slips = {e: float(sds[posture.column[e, "time"]]) for e in _events(posture)}
    late, late_sd, slips = _half_a_picture(row, leg, posture, own_slips)
    for event, slip in slips.items():
        sds[posture.column[event, "time"]] = slip
    told = list(_beside_the_usual_rate(row, leg, posture))
    of_slip = _of_slip(row, leg, posture, own_slips)
    if row.key in _EVENED_OUT:
        late = of_slip = 0.0
    i = posture.column[BODY, OFF_AXIS]
    # A way across the picture depends on where its scale lies in depth; that is in the scale's ±.
    off = 0.0 if row.is_metric else float(sds[i])
    if posture.setting.knows_place:
        sds[i] = 0.0
    else:  # a doubt like any other, which may lie on the side of half a picture
        sds[i] = copysign(hypot(off, (2.0 * abs(off * late)) ** 0.5), off)
        off = 0.0
    for place in np.flatnonzero(~(np.abs(sds) <= _NOTHING)):
        doubt = posture.doubts[place]
        told.append(Share(doubt.name, doubt.words, float(sds[place]), doubt.is_shared))
    if abs(late) > _NOTHING:
        told.append(Share((_BIAS, THE_FRAME), THE_FRAME, late, True, late_sd, of_slip))
    if abs(off) > _NOTHING:
        told.append(Share((_BIAS, SQUARENESS), SQUARENESS, off, True))
    return float(results[0]), tuple(told)


def _events(posture: Posture) -> tuple[str, ...]:
    return tuple(frame.event for frame in posture.step.key_frames)


def _beside_the_usual_rate(row: Row, leg: str, posture: Posture) -> Iterator[Share]:
    """Yield what a slip makes of a value beside the usual rate: people turn at others, and the rate
    itself changes (half of (second derivative · u²)², JCGM 100:2008, note to 5.1.2)."""
    contact_s = posture.setting.contact_s
    spreads, bends = row.spreads_of(leg, contact_s), row.bends_of(leg, contact_s)
    for event in _events(posture):
        sd_s = posture.doubts[posture.column[event, "time"]].sd
        if event in spreads:
            yield Share((event, "rate"), THE_FRAME, spreads[event] * sd_s, False)
        if event in bends:
            yield Share((event, "bend"), THE_FRAME, bends[event] * sd_s**2 / 2**0.5, False)


def _half_a_picture(
    row: Row, leg: str, posture: Posture, own_slips: Mapping[str, float], more_s: float = 0.0
) -> tuple[float, float, dict[str, float]]:
    """Return the bias of half a picture, its doubt, and what a slip of 1 SD does at each key frame.

    own_slips: what it does already in the formula, where that holds the time.
    more_s: the contact, by whose tempo limbs turn, is taken to be so much longer.
    """
    contact_s = posture.setting.contact_s + more_s
    rates, bends, spreads = (
        of(leg, contact_s) for of in (row.rates_of, row.bends_of, row.spreads_of)
    )
    late, late_sd, slips = 0.0, 0.0, {}
    for frame in posture.step.key_frames:
        event = frame.event
        sd_s = posture.doubts[posture.column[event, "time"]].sd
        half_s = _HALF_LATE.get(event, 0.0) * posture.setting.interval_s(frame)
        moved = own_slips[event] + rates.get(event, 0.0) * sd_s
        bend = bends.get(event, 0.0)
        slips[event] = moved + bend * half_s * sd_s  # at the rate where the picture is in the mean
        bent = bend * (sd_s**2 + half_s**2) / 2.0
        late += moved / sd_s * half_s + bent
        late_sd = hypot(late_sd, spreads.get(event, 0.0) * half_s, _BENT_OTHERWISE * bent)
    return late, late_sd, slips


def _of_slip(row: Row, leg: str, posture: Posture, own_slips: Mapping[str, float]) -> float:
    """Return what taking off the bias of half a picture does to the variance through the contact.

    A touchdown chosen late makes the contact short, so the limbs are taken to turn faster, and
    the bias is taken to be larger: the value with its bias taken off slips by less than the value.
    """
    if not posture.setting.reads_contact or not (row.rates or row.bends):
        return 0.0
    usual, _, slips = _half_a_picture(row, leg, posture, own_slips)
    longer, *_ = _half_a_picture(row, leg, posture, own_slips, _A_LITTLE_S)
    changed = 0.0
    for event, sign in ((TOUCHDOWN, -1.0), (TOE_OFF, 1.0)):
        sd_s = posture.doubts[posture.column[event, "time"]].sd
        of_bias = sign * (longer - usual) / _A_LITTLE_S * sd_s
        changed += (slips[event] - of_bias) ** 2 - slips[event] ** 2
    return changed


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
        bias=_bias(usable),
        u_bias=_u_bias(usable),
        of_slip=_of_slips(usable),
    )


def _bias(estimates: Sequence[Estimate]) -> float:
    """Return the mean over steps of the error whose direction is known."""
    return sum(_known(estimates).values())


def _u_bias(estimates: Sequence[Estimate]) -> float:
    """Return the doubt of that error; the same limbs turn in every step, so it does not shrink."""
    return sum(share.doubt for each in estimates for share in each.shares) / len(estimates)


def _of_slips(estimates: Sequence[Estimate]) -> float:
    """Return what it does to the variance through the contact: slips are new in every step."""
    changed = [share.of_slip for each in estimates for share in each.shares]
    return float(sum(changed)) / len(estimates) ** 2


def _known(estimates: Sequence[Estimate]) -> dict[str, float]:
    """Return words → mean over steps of the errors whose direction is known, signed."""
    known: dict[str, float] = {}
    for share in (share for each in estimates for share in each.shares if _is_known(share)):
        known[share.words] = known.get(share.words, 0.0) + share.sd / len(estimates)
    return known


def _is_known(share: Share) -> bool:
    return share.name[0] == _BIAS


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
    unknown = (s for each in estimates for s in each.shares if s.is_shared and not _is_known(s))
    for share in unknown:
        together[share.name] = together.get(share.name, 0.0) + share.sd / len(estimates)
        words[share.name] = share.words
    squares: dict[str, float] = {}
    for name, sd in together.items():
        squares[words[name]] = squares.get(words[name], 0.0) + sd**2
    for name_of_known, square in _squares_of_bias(_known(estimates)).items():
        squares[name_of_known] = squares.get(name_of_known, 0.0) + square
    return squares


def _squares_of_bias(known: Mapping[str, float]) -> dict[str, float]:
    """Return words → its part of the squared bias; all of it where two push against each other."""
    bias = sum(known.values())
    pushing = {words: part for words, part in known.items() if part * bias > 0}
    return {words: bias**2 * part / sum(pushing.values()) for words, part in pushing.items()}


def _largest_first(*squares: Mapping[str, float]) -> tuple[tuple[str, float], ...]:
    together: dict[str, float] = {}
    for words, square in (item for each in squares for item in each.items()):
        together[words] = together.get(words, 0.0) + square
    parts = [(words, square**0.5) for words, square in together.items()]
    return tuple(sorted(parts, key=lambda part: -part[1]))


def typed_speed(row: Row, run: Run) -> tuple[float, tuple[Share, ...]] | None:
    """Return the speed that the coach typed in and its doubt for the row "speed", else None."""
    speed = run.set_up.speed_mps
    if row.key != "speed" or not speed or speed <= 0:
        return None
    return speed, (Share(("speed",), THE_STOPWATCH, _STOPWATCH_SHARE * speed, True),)
