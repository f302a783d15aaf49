"""Catalogue rows of times, lags, arms, course over the ground, and the shoe from behind."""

from tapmark.marks.points import (
    LAST_CONTACT,
    MOST_TURNED,
    OPPOSITE_TOUCHDOWN,
    SHOE,
    TOE_OFF,
    TOUCHDOWN,
)
from tapmark.measures.row import Row

_COMMON = "common practice, no source"
_ARM = ("shoulder", "elbow")
_EVENTS = "definition from first and last picture touching"


def _row(
    key: str,
    name: str,
    unit: str,
    digits: int,
    leg: str,
    needs: dict[str, tuple[str, ...]],
    sign: str,
    formula: str,
    source: str,
    *,
    group: str,
    family: str,
    view: str = "side",
) -> Row:
    """Return a row that does not change with the picture chosen except through its times."""
    return Row(
        key, name, unit, digits, (leg,), needs, sign, {}, formula, source, group, family, view
    )


def _time(
    key: str,
    name: str,
    unit: str,
    digits: int,
    leg: str,
    events: tuple[str, ...],
    sign: str,
    formula: str,
    source: str = _EVENTS,
) -> Row:
    needs: dict[str, tuple[str, ...]] = {event: () for event in events}
    return _row(
        key, name, unit, digits, leg, needs, sign, formula, source, group="Time", family="time"
    )


ROWS_OF_TIME = (
    _time(
        "contact_time",
        "Contact time",
        "ms",
        0,
        "near",
        (TOUCHDOWN, TOE_OFF),
        "longer on the ground",
        "t(toe-off) − t(touchdown) + one interval",
    ),
    _time(
        "flight_time",
        "Flight time",
        "ms",
        0,
        "",
        (TOE_OFF, OPPOSITE_TOUCHDOWN),
        "longer in the air",
        "t(opposite touchdown) − t(toe-off) − one interval",
    ),
    _time(
        "step_time",
        "Step time",
        "ms",
        0,
        "",
        (TOUCHDOWN, OPPOSITE_TOUCHDOWN),
        "slower rhythm",
        "t(opposite touchdown) − t(touchdown)",
    ),
    _time(
        "step_rate",
        "Step rate",
        "/s",
        2,
        "",
        (TOUCHDOWN, OPPOSITE_TOUCHDOWN),
        "quicker rhythm",
        "1 ÷ step time",
    ),
    _time(
        "duty_factor",
        "Duty factor",
        "%",
        0,
        "near",
        (TOUCHDOWN, TOE_OFF, OPPOSITE_TOUCHDOWN),
        "more of the stride on the ground",
        "100 × contact time ÷ (2 × step time)",
    ),
    _time(
        "far_contact_time",
        "Contact time, far foot",
        "ms",
        0,
        "far",
        (OPPOSITE_TOUCHDOWN,),
        "longer on the ground",
        "t(far toe-off) − t(opposite touchdown) + one interval",
    ),
    _time(
        "turn_delay",
        "Turn delay of the rear thigh",
        "ms",
        0,
        "near",
        (TOE_OFF,),
        "the rear leg comes through later",
        "middle of “rear thigh” still − t(toe-off)",
        f"{_COMMON}; measured 18–25 in sprinters",
    ),
    _time(
        "arm_leg_lag",
        "Arm–leg lag, mean of both partners",
        "ms",
        0,
        "",
        (),
        "+ the arm turns later than the leg",
        "mean of elbow lag and hand lag",
        _COMMON,
    ),
    _time(
        "lag_elbow",
        "Elbow back behind lead thigh up",
        "ms",
        0,
        "",
        (),
        "+ the elbow turns later",
        "middle of “elbow back” − middle of “lead thigh”",
        _COMMON,
    ),
    _time(
        "lag_hand",
        "Hand forward behind rear thigh back",
        "ms",
        0,
        "",
        (),
        "+ the hand turns later",
        "middle of “hand forward” − middle of “rear thigh”",
        _COMMON,
    ),
    _row(
        "arm_range",
        "Upper arm range, near arm",
        "°",
        0,
        "near",
        {TOUCHDOWN: _ARM, TOE_OFF: _ARM, OPPOSITE_TOUCHDOWN: _ARM},
        "larger swing",
        "largest − smallest upper arm angle over the key frames",
        _COMMON,
        group="The whole step",
        family="arms",
    ),
    _row(
        "step_length",
        "Step length",
        "m",
        2,
        "",
        {TOUCHDOWN: ("near ankle",), OPPOSITE_TOUCHDOWN: ("far ankle",)},
        "longer step",
        "far ankle X at opposite touchdown − near ankle X at touchdown",
        "definition",
        group="The whole step",
        family="course",
    ),
    _row(
        "speed",
        "Speed",
        "m/s",
        1,
        "",
        {TOUCHDOWN: ("hip",), OPPOSITE_TOUCHDOWN: ("hip",)},
        "faster",
        "way of the hip from touchdown to opposite touchdown ÷ step time; where the speed was "
        "typed in, that one",
        "definition",
        group="The whole step",
        family="course",
    ),
    _row(
        "contact_length",
        "Contact length",
        "m",
        2,
        "near",
        {TOUCHDOWN: ("hip", "near ankle"), TOE_OFF: ("hip", "near ankle")},
        "longer way over the foot",
        "(ankle X − hip X) at touchdown − the same at toe-off",
        "definition",
        group="The whole step",
        family="course",
    ),
    _row(
        "foot_turn",
        "Foot turn at push-off",
        "°",
        0,
        "",
        {LAST_CONTACT: SHOE, MOST_TURNED: SHOE},
        "+ the heel goes toward the mid-line",
        "change of the line forefoot → heel from last contact to most turned",
        "Souza 2015, PM&R 7:823: joggers' mean 0.4°, SD 9.2°",
        group="From behind or in front",
        family="rear",
        view="rear",
    ),
)
