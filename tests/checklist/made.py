"""Hand-made results for the tests of this room: numbers go in, never verdicts."""

from datetime import date

from tapmark.checklist.assess import assess_in, rows_of
from tapmark.checklist.criteria import Criteria, load
from tapmark.checklist.items import judge_items
from tapmark.checklist.situation import Situation
from tapmark.checklist.verdict import Assessment, ItemVerdict
from tapmark.measures.result import Measured, Results

CRITERIA: Criteria = load()
TODAY = date(2026, 5, 14)

NEAR_ONLY = ("leg_stack", "knee_bend", "thigh_toe_off", "hip_share", "drive_angle", "turn_delay")
FAR_ONLY = ("fold", "front_leg_return", "peak_thigh")
NO_LEG = ("trunk_lean", "arm_leg_lag", "foot_turn")
GOOD = {  # ours: a sprinter of whom every row is fine
    "reach": 3,
    "ankle_hip": 26,
    "knee_touchdown": 150,
    "thigh_touchdown": 30,
    "knee_separation": 10,
    "separation_behind": -8,
    "swing_thigh": 8,
    "trunk_lean": 7,
    "leg_stack": 95,
    "knee_bend": 9,
    "thigh_toe_off": -27,
    "hip_share": 75,
    "drive_angle": 30.5,
    "turn_delay": 12,
    "fold": 40,
    "peak_thigh": 68,
    "front_leg_return": 42,
    "arm_leg_lag": 2,
    "foot_turn": 1,
}
STILL = {"hand crosses": 0, "shoulder line tilts": 0, "shoulders turn": 0, "foot path": 0}


def leg_of(key):
    """Return the leg that the catalogue gives a row; rows of both legs are made for the near."""
    if key in FAR_ONLY:
        return "far"
    return "" if key in NO_LEG else "near"


def measured(key, value, u=1.0, leg=None, **more):
    """Return a measured row; a turn of the foot, which needs several steps, comes from three."""
    more = {"n_steps": 3 if key == "foot_turn" else 1} | more
    return Measured(key, leg_of(key) if leg is None else leg, float(value), u, "", **more)


def results(values=None, u=0.5, ticks=None, far=None, **more):
    """Return results from near values by key; far gives values of the far leg's rows."""
    rows = [measured(key, value, u) for key, value in (values or {}).items()]
    rows += [measured(key, value, u, leg="far") for key, value in (far or {}).items()]
    return Results({(row.key, row.leg): row for row in rows}, ticks=ticks or {}, **more)


def items(made, criteria=CRITERIA):
    """Return the 18 item verdicts of results, without any cap."""
    return judge_items(rows_of((made,), criteria), made.ticks, criteria)


def item(made, number) -> ItemVerdict:
    """Return one item verdict of results."""
    return items(made)[number - 1]


def adult(**more) -> Situation:
    """Return the situation of a healthy adult with a sheet behind them."""
    usual = {"today": TODAY, "birth_year": 1996, "pain": "no", "is_first_sheet": False}
    return Situation(**(usual | more))


def assessed(values=None, situation=None, criteria=CRITERIA, **more) -> Assessment:
    """Return the assessment of values by key in a situation."""
    return assess_in((results(values, **more),), situation or adult(), criteria)


def numbers(assessment) -> list[int]:
    """Return the item numbers in the slots."""
    return [slot.item.number for slot in assessment.slots]
