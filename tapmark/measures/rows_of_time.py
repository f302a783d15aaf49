"""Catalogue rows of times and lags: they change with the pictures chosen, not with taps."""

from tapmark.marks.points import OPPOSITE_TOUCHDOWN, TOE_OFF, TOUCHDOWN
from tapmark.measures.row import Row

_COMMON = "common practice, no source"


def _time(
    key: str,
    name: str,
    events: tuple[str, ...],
    sign: str,
    formula: str,
    *,
    leg: str = "",
    unit: str = "ms",
    digits: int = 0,
    source: str = "definition from first and last picture touching",
) -> Row:
    return Row(
        key=key,
        name=name,
        unit=unit,
        digits=digits,
        legs=(leg,),
        needs={event: () for event in events},
        sign=sign,
        rates={},
        formula=formula,
        source=source,
        group="Time",
        family="time",
    )


def _lag(key: str, name: str, sign: str, formula: str) -> Row:
    return Row(
        key=key,
        name=name,
        unit="ms",
        digits=0,
        legs=("",),
        needs={},
        sign=sign,
        rates={},
        formula=formula,
        source=f"{_COMMON}; the arm turns once between the two turns of the legs",
        group="The whole step",
        family="arms",
    )


ROWS_OF_TIME = (
    _time(
        "contact_time",
        "Contact time",
        (TOUCHDOWN, TOE_OFF),
        "longer on the ground",
        "t(toe-off) − t(touchdown) + one interval",
        leg="near",
    ),
    _time(
        "flight_time",
        "Flight time",
        (TOE_OFF, OPPOSITE_TOUCHDOWN),
        "longer in the air",
        "t(opposite touchdown) − t(toe-off) − one interval",
    ),
    _time(
        "step_time",
        "Step time",
        (TOUCHDOWN, OPPOSITE_TOUCHDOWN),
        "slower rhythm",
        "t(opposite touchdown) − t(touchdown)",
    ),
    _time(
        "step_rate",
        "Step rate",
        (TOUCHDOWN, OPPOSITE_TOUCHDOWN),
        "quicker rhythm",
        "1 ÷ step time",
        unit="/s",
        digits=2,
    ),
    _time(
        "duty_factor",
        "Duty factor",
        (TOUCHDOWN, TOE_OFF, OPPOSITE_TOUCHDOWN),
        "more of the stride on the ground",
        "100 × contact time ÷ (2 × step time)",
        leg="near",
        unit="%",
    ),
    _time(
        "far_contact_time",
        "Contact time, far foot",
        (OPPOSITE_TOUCHDOWN,),
        "longer on the ground",
        "t(far toe-off) − t(opposite touchdown) + one interval",
        leg="far",
    ),
    _time(
        "turn_delay",
        "Turn delay of the rear thigh",
        (TOE_OFF,),
        "the rear leg comes through later",
        "middle of “rear thigh” still − t(toe-off)",
        leg="near",
        source=f"{_COMMON}; published runs give 18 to 25 ms at speed",
    ),
    _lag(
        "arm_leg_lag",
        "Arm–leg lag, mean of both partners",
        "+ the arm turns later than the leg",
        "mean of elbow lag and hand lag",
    ),
    _lag(
        "lag_elbow",
        "Elbow back behind lead thigh up",
        "+ the elbow turns later",
        "middle of “elbow back” − middle of “lead thigh”",
    ),
    _lag(
        "lag_hand",
        "Hand forward behind rear thigh back",
        "+ the hand turns later",
        "middle of “hand forward” − middle of “rear thigh”",
    ),
)
