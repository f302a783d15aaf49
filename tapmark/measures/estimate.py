"""One row of one step, or of several pooled: a value and what its doubt is made of."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import copysign, hypot

import numpy as np

from tapmark.geometry.planar import lean_deg, length, turned_deg
from tapmark.geometry.uncertainty import shares, stacked
from tapmark.marks.points import LAST_CONTACT, MOST_TURNED, OPPOSITE_TOUCHDOWN, TOE_OFF, TOUCHDOWN
from tapmark.marks.run import Run, Step
from tapmark.measures.catalogue import Row, row
from tapmark.measures.doubts import (
    BODY,
    OFF_AXIS,
    SQUARENESS,
    THE_FRAME,
    THE_STOPWATCH,
    Doubt,
    Name,
    doubled,
    shoe_sd_px,
)
from tapmark.measures.formulas import FORMULAS
from tapmark.measures.posture import Posture
from tapmark.measures.result import Measured, NotMeasured

# A first picture touching is on average half an interval late, a last one half an interval early
# (calc: where in the interval a contact begins is as likely anywhere).
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
    of_slip = _of_slip(row, leg, posture, own_slips, late, slips)
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


def _of_slip(
    row: Row,
    leg: str,
    posture: Posture,
    own_slips: Mapping[str, float],
    usual: float,
    slips: Mapping[str, float],
) -> float:
    """Return what taking off the bias of half a picture does to the variance through the contact.

    usual, slips: that bias, and what a slip does at each key frame.

    A touchdown chosen late makes the contact short, so the limbs are taken to turn faster, and
    the bias is taken to be larger: the value with its bias taken off slips by less than the value.
    """
    if not posture.setting.reads_contact or not (row.rates or row.bends):
        return 0.0
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
    row, values, n = usable[0].row, np.array([each.value for each in usable]), len(usable)
    told = [share for each in usable for share in each.shares]
    own, shared = _squares(told, n)
    known = _known(told, n)
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
        n_steps=n,
        scatter=float(np.std(values, ddof=1)) if n > 1 else None,
        u_set_up=float(sum(shared.values()) ** 0.5),
        bias=sum(known.values()),
        u_bias=sum(share.doubt for share in told) / n,  # the same limbs turn in every step
        of_slip=float(sum(share.of_slip for share in told)) / n**2,  # slips are new in every step
    )


def _known(told: Sequence[Share], n: int) -> dict[str, float]:
    """Return words → mean over n steps of the errors whose direction is known, signed."""
    known: dict[str, float] = defaultdict(float)
    for share in told:
        if share.name[0] == _BIAS:
            known[share.words] += share.sd / n
    return known


def _squares(told: Sequence[Share], n: int) -> tuple[dict[str, float], dict[str, float]]:
    """Return words → variance of the mean over n steps: of what is new in every step, and of what
    all steps have in common, which is added with its signs.

    Of biases that push against each other, those that win share the square of what is left.
    """
    own, shared = defaultdict[str, float](float), defaultdict[str, float](float)
    together = defaultdict[tuple[Name, str], float](float)
    for share in told:
        if not share.is_shared:
            own[share.words] += (share.sd / n) ** 2
        elif share.name[0] != _BIAS:
            together[share.name, share.words] += share.sd / n
    for (_, words), sd in together.items():
        shared[words] += sd**2
    known = _known(told, n)
    bias = sum(known.values())
    pushing = {words: part for words, part in known.items() if part * bias > 0}
    for words, part in pushing.items():
        shared[words] += bias**2 * part / sum(pushing.values())
    return own, shared


def _largest_first(*squares: Mapping[str, float]) -> tuple[tuple[str, float], ...]:
    together = defaultdict[str, float](float)
    for words, square in (item for each in squares for item in each.items()):
        together[words] += square
    parts = [(words, square**0.5) for words, square in together.items()]
    return tuple(sorted(parts, key=lambda part: -part[1]))


def typed_speed(row: Row, run: Run) -> tuple[float, tuple[Share, ...]] | None:
    """Return the speed that the coach typed in and its doubt for the row "speed", else None."""
    speed = run.set_up.speed_mps
    if row.key != "speed" or not speed or speed <= 0:
        return None
    return speed, (Share(("speed",), THE_STOPWATCH, _STOPWATCH_SHARE * speed, True),)


FOOT_TURN = row("foot_turn")
_SHORTEST_LINE_PX = 3.0  # ours: below it a tap of one pixel turns the shoe by 18°
_PLACES = tuple((event, point) for event, points in FOOT_TURN.needs.items() for point in points)


def foot_turn(run: Run, step: Step) -> Estimate | NotMeasured:
    """Return how far the heel turned toward the mid-line between the two key frames, in degrees."""
    reason = _missing(step)
    if reason:
        return NotMeasured(FOOT_TURN.key, "", reason)
    doubts = _doubts(step)
    rows = stacked(np.array([d.value for d in doubts]), np.array([d.sd for d in doubts]))
    # Of picture x: the sign that leads from the marked foot to the mid-line.
    toward_mid_line = -run.travel_sign if run.view == "rear" else run.travel_sign
    # Heel and forefoot at last contact, then at most turned, shape (N, 4, 2).
    laid = rows.reshape(len(rows), -1, 2) * np.array([toward_mid_line, -1.0])
    results = turned_deg(lean_deg(laid[:, 1], laid[:, 0]), lean_deg(laid[:, 3], laid[:, 2]))
    told = tuple(
        Share(doubt.name, doubt.words, float(sd), is_shared=False)
        for doubt, sd in zip(doubts, shares(results), strict=True)
    )
    has_guess = any(tap.certainty == "guess" for frame in step.key_frames for tap in frame.taps)
    return Estimate(FOOT_TURN, "", float(results[0]), told, is_about=has_guess)


def _missing(step: Step) -> str:
    for event, point in _PLACES:
        frame = step.key_frame(event)
        if frame is None:
            return f"Needs the key frame {event}."
        if frame.at(point) is None:
            return f"Needs the {point} at {event}."
    for event in (LAST_CONTACT, MOST_TURNED):
        if _line_px(step, event) < _SHORTEST_LINE_PX:
            return (
                f"Heel centre and forefoot centre at {event} lie on the same spot; tap them again."
            )
    return ""


def _doubts(step: Step) -> list[Doubt]:
    line_px = (_line_px(step, LAST_CONTACT) + _line_px(step, MOST_TURNED)) / 2.0
    doubts = []
    for event, point in _PLACES:
        frame = step.key_frame(event)
        tap = frame.tap(point) if frame else None
        if frame and tap and tap.at_px:
            sd = doubled(tap, frame) * shoe_sd_px(line_px)
            for axis, value in zip("xy", tap.at_px, strict=True):
                doubts.append(Doubt((event, point, axis), value, sd, f"the {point} tap"))
    return doubts


def _line_px(step: Step, event: str) -> float:
    frame = step.key_frame(event)
    ends = [(frame.at(point) if frame else None) or (0.0, 0.0) for point in FOOT_TURN.needs[event]]
    heel, forefoot = np.array(ends)
    return float(length(heel, forefoot))
