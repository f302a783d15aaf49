"""The bands as they are shipped, typed twice: this notices a slip, and proves no band.

Most limits are common practice, no source; each band says on what it stands.
"""

import re
from datetime import date

import pytest

from tapmark.checklist import criteria as criteria_of

SPRINT, RACE = "sprint", "race pace"

# Common practice, no source, or what each band names in checks.toml.
# row: (limit_low, fine_low, fine_high, limit_high) for sprint, then for race pace.
# Lag and foot turn have a sign, so their "at most 30, limit 60" holds on both sides of 0.
TYPED_IN = {
    "reach": ((None, None, 7, 12), (None, None, 9, 13)),
    "ankle_hip": ((None, None, 30, 36), (None, None, 33, 39)),
    "knee_touchdown": ((None, None, 160, 165), (None, None, 162, 167)),
    "thigh_touchdown": ((None, None, 36, 41), (None, None, 36, 41)),
    "knee_separation": ((None, None, 25, 36), (None, None, None, None)),
    "swing_thigh": ((-20, -5, None, None), (-30, -20, None, None)),
    "separation_behind": ((None, None, 4, 16), (None, None, 16, 23)),
    "trunk_lean": ((-4, 0, 14, 18), (-4, 0, 10, 15)),
    "leg_stack": ((90, 92, None, None), (88, 90, None, None)),
    "knee_bend": ((None, None, 18, 22), (None, None, 28, 35)),
    "thigh_toe_off": ((-42, -35, -14, -8), (-42, -37, -22, -17)),
    "hip_share": ((52, 60, None, None), (50, 56, None, None)),
    "drive_angle": ((19, 25, 38, 43), (17, 23, 36, 41)),
    "turn_delay": ((None, None, 40, 65), (None, None, 40, 65)),
    "fold": ((None, None, 55, 70), (None, None, 72, 88)),
    "arm_leg_lag": ((-60, -30, 30, 60), (-60, -30, 30, 60)),
    "foot_turn": ((-25, -15, 15, 25), (-25, -15, 15, 25)),
}
AT_SPEED_ONLY = {"reach", "knee_touchdown", "knee_bend", "turn_delay"}


@pytest.fixture(scope="module")
def criteria():
    return criteria_of.load()


def test_every_row_typed_here_has_a_band_and_no_other_row_has_one(criteria):
    assert set(TYPED_IN) == set(criteria.graded)


@pytest.mark.parametrize("row", TYPED_IN)
@pytest.mark.parametrize("context", [SPRINT, RACE])
def test_band_is_the_typed_in_one(criteria, row, context):
    band = criteria.band(row, context)
    expected = TYPED_IN[row][context == RACE]
    assert expected == (band.limit_low, band.fine_low, band.fine_high, band.limit_high)


def test_rows_that_ordinary_running_breaks_need_speed_at_race_pace_only(criteria):
    needing = {row for row in criteria.graded if criteria.band(row, RACE).needs_speed}
    assert needing == AT_SPEED_ONLY
    assert not any(criteria.band(row, SPRINT).needs_speed for row in criteria.graded)


def test_only_knee_separation_at_race_pace_is_a_trend(criteria):
    trends = [key for key, band in criteria.bands.items() if band.is_trend_only]
    assert trends == [("knee_separation", RACE)]


def test_only_knee_bend_at_race_pace_is_capped_and_only_foot_turn_needs_several_steps(criteria):
    assert [key for key, band in criteria.bands.items() if band.is_capped] == [("knee_bend", RACE)]
    needing = {key: band.least_steps for key, band in criteria.bands.items()}
    assert {key for key, least in needing.items() if least > 1} == {
        ("foot_turn", SPRINT),
        ("foot_turn", RACE),
    }
    assert needing["foot_turn", SPRINT] == 3


# Single people at speed, one value a row: what a band marks is then a matter of style. Rottier &
# Allen 2021, 10.1016/j.jbiomech.2021.110640 (two men, digitised from one clip); Dorn 2012,
# 10.1242/jeb.064527, at 7.0 and 9.5 m/s; a released 6.65 m/s trial of one runner; our arithmetic.
PEOPLE_AT_SPEED = {
    SPRINT: {
        "thigh_toe_off": (-15.4, -32.1, -23.4, -28.0),
        "drive_angle": (30.6, 36.9),
        "turn_delay": (32, 36, 18, 21),
    },
    RACE: {"thigh_toe_off": (-35.3, -33.8), "drive_angle": (34.3, 31.0), "turn_delay": (14.5, 21)},
}


@pytest.mark.parametrize("context", PEOPLE_AT_SPEED)
def test_people_who_were_measured_at_speed_are_fine(criteria, context):
    for row, values in PEOPLE_AT_SPEED[context].items():
        band = criteria.band(row, context)
        low = -90 if band.fine_low is None else band.fine_low
        assert all(low <= value <= band.fine_high for value in values), row


def test_every_band_says_on_what_it_stands_since_when_and_why(criteria):
    for band in criteria.bands.values():
        assert len(band.basis) > 10 and len(band.reason) > 5
        assert date.fromisoformat(band.dated)


SOURCE = re.compile(r"[A-Z][a-z]+(?: & [A-Z][a-z]+)? (?:19|20)\d\d|Fox, flash-running")


def test_every_band_names_its_sources_and_the_file_says_where_they_stand(criteria):
    """A number that was measured has an author and a year; the list on top has the place."""
    listed = criteria_of.HERE.joinpath("checks.toml").read_text("utf-8").split("format = 1")[0]
    for (row, context), band in criteria.bands.items():
        named = SOURCE.findall(band.basis)
        assert named, (row, context)
        for source in named:
            assert f"#   {source} " in listed, source
        assert re.search(
            r"common practice, no source|ours|geometry|Geometry|not a cue|No s|never|more",
            band.basis,
        )
    for line in re.findall(r"#   (\S.*?)  +", listed):
        assert line in " ".join(band.basis for band in criteria.bands.values()), line


def test_acceleration_leaves_posture_contact_and_long_push_ungraded(criteria):
    on = [row for row in criteria.graded if not criteria.is_off(row, "acceleration")]
    assert set(on) == {"hip_share", "fold", "arm_leg_lag", "foot_turn"}


def test_on_the_bend_only_the_rear_view_is_graded(criteria):
    on = [row for row in criteria.graded if not criteria.is_off(row, "bend")]
    assert on == ["foot_turn"]
