"""Results as a file: units in the keys; tables are the services' and tested there."""

import json

import pytest

from tapmark.measures.compute import measure_run, measure_visit
from tapmark.measures.doubts import WHAT_HELPS, what_helps
from tapmark.measures.result import MarkingCheck, Results
from tapmark.services.measuring import as_dict
from tests.measures.made import number, run_of

RUN = run_of()


def test_the_dictionary_survives_json_and_carries_units_in_its_keys() -> None:
    told = json.loads(json.dumps(as_dict(measure_run(RUN)), allow_nan=False))
    rows = {(each["key"], each["leg"]): each for each in told["measures"]}

    reach = rows["reach", "near"]
    assert reach["value_deg"] == pytest.approx(4.0)
    assert reach["foot"] == "right"
    assert reach["plus_minus_95_deg"] == pytest.approx(1.96 * reach["u_deg"])
    assert sum(part["u_deg"] ** 2 for part in reach["parts"]) == pytest.approx(reach["u_deg"] ** 2)
    assert reach["bias_deg"] == number(measure_run(RUN), "reach", "near").bias < 0
    assert rows["reach", "far"]["foot"] == "left"
    assert "value_ms" in rows["contact_time", "near"]
    assert "value_pct_leg" in rows["ankle_hip", "near"]
    assert rows["step_length", ""]["reason"] == "Needs two scale marks on the running line."
    assert told["rate_per_s"] == pytest.approx(240.0)


def test_checks_name_the_step_as_a_person_counts() -> None:
    check = MarkingCheck("length", "The thigh is longer.", "toe-off", "near knee", 1)

    (told,) = as_dict(Results({}, checks=(check,)))["checks"]  # type: ignore[misc]
    assert told == {
        "name": "length",
        "words": "The thigh is longer.",
        "step": 2,
        "key_frame": "toe-off",
        "point": "near knee",
    }


def test_the_other_side_of_a_visit_is_in_the_file_too() -> None:
    visit = measure_visit([RUN, RUN, run_of(sign=-1)])

    (other,) = as_dict(visit)["others"]  # type: ignore[misc]
    assert other["near_side"] == "left"
    feet = {each["foot"] for each in other["measures"] if each["leg"] == "near"}
    assert feet == {"left"}


def test_what_helps_most_follows_the_largest_part() -> None:
    coarse = measure_run(
        run_of(
            pictures={
                event: 25 + 7 * i
                for i, event in enumerate(
                    ("touchdown", "mid-stance", "toe-off", "peak knee lift", "opposite touchdown")
                )
            },
            hz=60.0,
        )
    )

    assert number(coarse, "reach", "near").mostly == "the frame"
    assert what_helps(number(coarse, "reach", "near")) == "film at 240 frames per second"
    assert "another pass" in what_helps(number(measure_run(RUN), "thigh_toe_off", "near"))
    assert "trunk" not in WHAT_HELPS
