"""Like with like, or with a label, or not at all."""

from dataclasses import replace

import pytest

from tapmark.measures.compute import measure_run
from tapmark.measures.likeness import Likeness, likeness
from tests.measures.made import PX, run_of, with_set_up

RUN = with_set_up(run_of(), effort=9, shoes="spikes", surface="track", wind="still", zone="40 m")


def compared(after_answers: dict[str, object]) -> Likeness:
    after = with_set_up(RUN, **after_answers)
    return likeness(RUN, after, measure_run(RUN), measure_run(after))


def test_the_same_set_up_is_like() -> None:
    assert compared({}) == Likeness()


@pytest.mark.parametrize(
    ("answers", "words"),
    [
        ({"context": "race pace"}, "another kind of running (sprint, then race pace)"),
        ({"direction": "right to left"}, "another foot near the camera (right, then left)"),
        ({"effort": 7}, "below 85 % nothing is compared"),
        ({"uses_neck_base": True}, "another trunk point"),
    ],
)
def test_what_makes_it_another_run_is_refused(answers: dict[str, object], words: str) -> None:
    found = compared(answers)

    assert len(found.refused) == 1
    assert words in found.refused[0]
    assert words in found.why_not("°")


def test_efforts_one_point_apart_are_alike_and_two_are_not() -> None:
    nine, eleven = (with_set_up(RUN, effort=effort) for effort in (9, 11))
    rows = measure_run(RUN)

    assert compared({"effort": 10}).refused == ()
    assert likeness(nine, eleven, rows, rows).refused == (
        "Different run: effort 9, then 11 of 10.",
    )
    assert compared({"effort": None}).refused == ()


def test_another_view_is_another_run() -> None:
    rear = replace(RUN, view="rear")

    refused = likeness(RUN, rear, measure_run(RUN), measure_run(RUN)).refused

    assert refused == ("Different runs: another view (side, then rear).",)


def test_another_source_of_leg_length_refuses_lengths_and_leaves_angles() -> None:
    taped = {
        "scale_px": ((1000, 1100), (1000 + 2 * PX / 1.8, 1100)),
        "scale_m": 2.0,
        "leg_cm": 90.0,
        "leg_source": "tape",
    }

    found = compared(taped)

    assert found.refused == ()
    assert "Leg length came from picture, then from tape" in found.why_not("% leg")
    assert found.why_not("cm") == found.why_not("% leg")
    assert found.why_not("°") == ""


def test_changed_shoes_are_compared_with_a_label() -> None:
    """A task of a coach's first month."""
    assert compared({"shoes": "trainers"}).labels == ("shoes: spikes, then trainers",)
    assert compared({"shoes": "trainers"}).refused == ()
    assert compared({"shoes": ""}).labels == ()


def test_an_athlete_who_grew_is_compared_in_percent_with_a_note() -> None:
    """A task of a coach's first month."""
    found = compared({"has_grown": True})

    assert (found.refused, found.labels) == ((), ("the athlete has grown since",))


def test_across_growth_no_time_and_no_step_rate_is_called_moved() -> None:
    """Meyers 2016: 2 to 4 % in 21 months by growing alone; bands of this tool notice less."""
    found = compared({"has_grown": True})

    assert all("grown" in found.why_not(unit) for unit in ("ms", "/s"))
    assert [found.why_not(unit) for unit in ("°", "% leg", "%", "m/s")] == [""] * 4
    assert compared({}).why_not("ms") == ""


def test_other_labels_name_what_differs() -> None:
    marked = replace(RUN, marked_by="B")
    rows = measure_run(RUN)
    slow = replace(rows, rate_hz=120.0)

    assert "wind: still, then against" in compared({"wind": "against"}).labels
    first = replace(RUN, marked_by="A")
    assert likeness(first, marked, rows, slow).labels == (
        "marked by: A, then B",
        "frames per second: 240, then 120",
    )
