"""The catalogue is complete, in words, and agrees with the formulas and the marks."""

from pathlib import Path
from statistics import mean, stdev

import numpy as np
import pytest

from tapmark.marks.points import EVENTS, STANDARD
from tapmark.measures.catalogue import ROWS, TRUNK_TOP, Row, row
from tapmark.measures.formulas import FORMULAS

BY_HAND = "".join(
    Path(__file__).with_name(f"test_{name}.py").read_text("utf-8") for name in ("compute", "rear")
)
NAMES = """
reach ankle_knee ankle_knee_cm ankle_hip knee_touchdown thigh_touchdown knee_separation
separation_ahead separation_behind swing_thigh trunk_lean leg_stack knee_mid_stance knee_bend
hip_drop fold thigh_toe_off knee_toe_off hip_toe_off hip_share drive_angle peak_thigh
front_leg_return return_rate contact_time flight_time step_time step_rate duty_factor
far_contact_time turn_delay arm_leg_lag lag_elbow lag_hand arm_range step_length speed
contact_length foot_turn
"""


def test_every_measure_has_its_row_once_and_in_order() -> None:
    assert [each.key for each in ROWS] == NAMES.split()


def test_every_side_view_row_has_a_formula_and_no_formula_is_left_over() -> None:
    assert {each.key for each in ROWS if each.view == "side"} == FORMULAS.keys()


@pytest.mark.parametrize("each", ROWS, ids=lambda each: each.key)
def test_a_row_has_a_case_worked_out_by_hand(each: Row) -> None:
    assert f'"{each.key}"' in BY_HAND, "put one into test_compute.py or test_rear.py"


@pytest.mark.parametrize("each", ROWS, ids=lambda each: each.key)
def test_a_row_says_all_it_has_to_say(each: Row) -> None:
    for words in (each.name, each.sign, each.formula, each.source, each.group, each.family):
        assert words
    assert each.unit in ("°", "% leg", "%", "cm", "ms", "/s", "m", "m/s", "°/s")
    assert set(each.legs) <= {"near", "far", ""}
    assert each.needs.keys() <= set(EVENTS[each.view])
    assert each.rates.keys() <= each.needs.keys()


@pytest.mark.parametrize("each", [r for r in ROWS if r.view == "side"], ids=lambda each: each.key)
def test_a_row_needs_only_what_the_standard_taps_ask_for(each: Row) -> None:
    for leg in each.legs:
        for event, points in each.needs_of(leg).items():
            for point in points:
                assert point == TRUNK_TOP or point in STANDARD[event], (leg, event)


def test_the_far_leg_needs_the_other_contact_and_the_other_points() -> None:
    assert row("reach").needs_of("far") == {"opposite touchdown": ("far knee", "far ankle")}
    assert row("knee_separation").needs_of("far") == {
        "opposite touchdown": ("far knee", "near knee")
    }
    assert row("fold").needs_of("far") == {"mid-stance": ("hip", "far knee", "far ankle")}


def test_rates_follow_the_leg_and_the_tempo() -> None:
    usual = row("reach").rates["touchdown"]

    assert row("reach").rates_of("far", 0.110) == {"opposite touchdown": usual}
    assert row("reach").rates_of("near", 0.220) == {"touchdown": usual / 2}


# Rates at a contact of 110 ms that the published runs give (Dorn 2012, 10.1242/jeb.064527, at 9.5
# and 3.6 m/s; Hamner & Delp 2013, 10.1016/j.jbiomech.2012.11.024, at 5 m/s): differences over 16 ms
# (20 ms at 100 pictures a second), means over each run's steps, our arithmetic. The third run is on
# a treadmill: its step length on the belt says nothing.
PUBLISHED = {
    ("reach", "touchdown"): (-589, -768, -640),
    ("ankle_knee", "touchdown"): (-449, -592, -509),
    ("ankle_knee_cm", "touchdown"): (-450, -595, -488),
    ("ankle_hip", "touchdown"): (-697, -509, -486),
    ("knee_touchdown", "touchdown"): (-236, -878, -670),
    ("thigh_touchdown", "touchdown"): (-364, 118, 34),
    ("knee_separation", "touchdown"): (-771, -334, -430),
    ("separation_ahead", "touchdown"): (-248, 83, 23),
    ("separation_behind", "touchdown"): (-524, -417, -453),
    ("swing_thigh", "touchdown"): (607, 492, 608),
    ("trunk_lean", "touchdown"): (24, 23, 19),
    ("trunk_lean", "opposite touchdown"): (10, 20, 6),
    ("leg_stack", "mid-stance"): (-68, -143, -28),
    ("knee_mid_stance", "mid-stance"): (-221, -445, -89),
    ("knee_bend", "touchdown"): (-236, -878, -670),
    ("knee_bend", "mid-stance"): (221, 445, 89),
    ("hip_drop", "touchdown"): (174, 4, 129),
    ("hip_drop", "mid-stance"): (62, 117, 22),
    ("fold", "mid-stance"): (-266, -660, -300),
    ("thigh_toe_off", "toe-off"): (-577, -312, -336),
    ("hip_toe_off", "toe-off"): (667, 387, 358),
    ("hip_share", "mid-stance"): (-332, -532, -327),
    ("hip_share", "toe-off"): (-50, 25, 196),
    ("drive_angle", "toe-off"): (502, 310, 552),
    ("front_leg_return", "opposite touchdown"): (364, -118, -34),
    ("return_rate", "opposite touchdown"): (3678, -657, -317),
    ("arm_range", "touchdown"): (-795, -364, -317),
    ("arm_range", "toe-off"): (0, 102, 136),
    ("step_length", "touchdown"): (-2.7, -2.2),
    ("step_length", "opposite touchdown"): (2.8, 2.3),
    ("contact_length", "touchdown"): (-7.0, -5.1, -4.7),
    ("contact_length", "toe-off"): (4.7, 3.3, 4.6),
}
# The knee opens at toe-off faster in one picture than over 16 ms: at most 401 in those runs. More
# than that is a working value for sprinters at full speed: common practice, no source.
KNEE_AT_TOE_OFF = ("knee_toe_off", "toe-off")


CONTACTS_S = (0.112, 0.228, 0.200)  # of those runs
# The knee in the first 8 ms after touchdown (10 ms in the third run), from the same files.
JUST_AFTER = {
    ("knee_touchdown", "touchdown"): (-193, -943, -764),
    ("knee_bend", "touchdown"): (-193, -943, -764),
}
# How much the rate differs between the sprinter's own steps (SD of four), where that is more.
BETWEEN_STEPS = {
    ("knee_separation", "touchdown"): 78,
    ("thigh_toe_off", "toe-off"): 52,
    ("trunk_lean", "touchdown"): 12,
}
# The thigh at touchdown as it turned, not scaled: (contact in s, degrees a second) of those three,
# and of one runner at 6.65 m/s, overground, 250 Hz (github aaronsfox/flash-running, maxSprint).
THIGH_AT_TOUCHDOWN = ((0.112, -357), (0.151, -233), (0.200, 19), (0.228, 57))
THIGH_ROWS = ("thigh_touchdown", "separation_ahead", "front_leg_return")


def as_it_goes_with_contact(rates: tuple[float, ...], key: str, event: str) -> list[float]:
    """Return rates at 110 ms by the row's own power of the tempo; the tables hold those by 1."""
    power = row(key).tempos.get(event, 1.0)
    times = zip(rates, CONTACTS_S, strict=False)
    return [rate * (contact_s / 0.110) ** (power - 1.0) for rate, contact_s in times]


SCALED = [key_and_event for key_and_event in PUBLISHED if key_and_event[0] not in THIGH_ROWS]
_STUDENT = {3: 1.32, 2: 1.84}  # t of 68 %: a next one after so few


@pytest.mark.parametrize("key_and_event", SCALED, ids=" at ".join)
def test_typical_rates_and_their_spreads_are_those_of_published_runs(
    key_and_event: tuple[str, str],
) -> None:
    key, event = key_and_event
    seen = as_it_goes_with_contact((PUBLISHED | JUST_AFTER)[key_and_event], key, event)

    rates, spreads = row(key).rates, row(key).spreads

    spread = max(_STUDENT[len(seen)] * stdev(seen), BETWEEN_STEPS.get(key_and_event, 0.0))
    assert rates[event] == pytest.approx(mean(seen), rel=0.03)
    assert spreads[event] == pytest.approx(spread, rel=0.16)


def test_the_thigh_at_touchdown_turns_by_a_line_over_contact_in_four_published_runs() -> None:
    contacts, seen = zip(*THIGH_AT_TOUCHDOWN, strict=True)
    slope, at_none = np.polyfit(contacts, seen, 1)
    off = [rate - at_none - slope * c for c, rate in THIGH_AT_TOUCHDOWN]

    thigh, back = row("thigh_touchdown"), row("front_leg_return")
    for contact_s in (0.110, 0.150, 0.200, 0.230):
        rate = thigh.rates_of("near", contact_s)["touchdown"]
        assert rate == pytest.approx(at_none + slope * contact_s, abs=8)
        assert thigh.spreads_of("near", contact_s) == {"touchdown": 50}
        assert back.rates_of("far", contact_s) == {"opposite touchdown": -rate}
    # two are fitted, two are left; Student's t for two degrees of freedom
    assert 1.32 * (sum(each**2 for each in off) / 2) ** 0.5 == pytest.approx(50, rel=0.05)


def test_the_far_thigh_turns_alike_and_the_part_ahead_with_it() -> None:
    thigh, ahead = row("thigh_touchdown"), row("separation_ahead")

    assert thigh.rates_of("far", 0.200) == {"opposite touchdown": -25}
    assert [ahead.rates_of("near", c)["touchdown"] for c in (0.110, 0.200)] == [-245, 10]
    # a thigh is 46 % of a leg long: 1° moves the knee by 0.8 % of it, less by its cosine
    assert pytest.approx(46 * 0.01745 * 0.84, rel=0.05) == 245 / 370


def test_every_rate_has_its_spread() -> None:
    for each in ROWS:
        assert each.spreads.keys() == each.rates.keys(), each.key
        assert all(spread > 0 for spread in each.spreads.values())


def test_what_goes_with_the_square_of_the_tempo_and_the_knee_that_goes_with_none() -> None:
    separation, knee = row("knee_separation"), row("knee_touchdown")

    assert [separation.rates_of("near", c)["touchdown"] for c in (0.110, 0.220)] == [-750, -187.5]
    assert [knee.rates_of("near", c)["touchdown"] for c in (0.110, 0.220)] == [-355, -355]
    assert knee.spreads_of("far", 0.220) == {"opposite touchdown": 190}
    for key, event in (("knee_separation", "touchdown"), ("thigh_toe_off", "toe-off")):
        by_square = as_it_goes_with_contact(PUBLISHED[key, event], key, event)
        assert max(by_square) / min(by_square) > 0.85  # so the three runs agree


def test_no_row_moves_at_a_rate_that_no_published_run_was_asked_about() -> None:
    told = {(each.key, event) for each in ROWS for event in each.rates}

    assert {*PUBLISHED, KNEE_AT_TOE_OFF} == told
    assert 401 < row("knee_toe_off").rates["toe-off"] < 2 * 401


# How fast those rates change, per second squared at a contact of 110 ms, from the same three runs:
# second differences over 8 ms (20 ms for the run at 100 pictures a second), our arithmetic.
PUBLISHED_BENDS = {
    ("leg_stack", "mid-stance"): (-601, 7372, 19393),
    ("knee_mid_stance", "mid-stance"): (-879, 27056, 58285),
    ("fold", "mid-stance"): (34104, 35915, 46575),
    ("hip_share", "mid-stance"): (-6058, 16240, 21941),
    ("hip_share", "toe-off"): (50341, 27361, 31580),
    ("thigh_toe_off", "toe-off"): (27600, 18900, 38300),
    ("hip_toe_off", "toe-off"): (-33800, -20400, -41300),
    ("peak_thigh", "peak knee lift"): (-26588, -15646, -26932),
    ("front_leg_return", "peak knee lift"): (-26588, -15646, -26932),
}


def test_typical_bends_are_those_of_published_runs() -> None:
    told = {(each.key, event): bend for each in ROWS for event, bend in each.bends.items()}

    means = {key: sum(seen) / len(seen) for key, seen in PUBLISHED_BENDS.items()}
    assert told == pytest.approx(means, rel=0.1)


def test_a_bend_goes_with_the_square_of_the_tempo() -> None:
    usual = row("fold").bends["mid-stance"]

    assert row("fold").bends_of("far", 0.220) == {"mid-stance": usual / 4}


def test_units_end_the_keys_of_a_file() -> None:
    units = {each.unit: each.unit_in_keys for each in ROWS}

    assert units == {
        "°": "deg",
        "% leg": "pct_leg",
        "%": "pct",
        "cm": "cm",
        "ms": "ms",
        "/s": "per_s",
        "m": "m",
        "m/s": "m_per_s",
        "°/s": "deg_per_s",
    }
    assert (row("reach").shown_unit, row("ankle_hip").shown_unit) == ("°", " % leg")


def test_what_the_taps_cannot_tell_is_not_printed() -> None:
    # whole degrees, percents, centimetres and milliseconds: the usual ± is larger than one of them
    digits = {each.unit: each.digits for each in ROWS}

    whole = dict.fromkeys(("°", "% leg", "%", "cm", "ms", "°/s"), 0)
    assert digits == whole | {"/s": 2, "m": 2, "m/s": 1}
    assert all(each.digits == digits[each.unit] for each in ROWS)
