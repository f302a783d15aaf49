"""Laws that must hold whatever was tapped: mirror, roll, zoom, shift, order, wild places."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapmark.marks.points import STANDARD
from tapmark.marks.run import KeyFrame, Run, Step, Tap
from tapmark.measures.compute import measure_run
from tapmark.measures.doubts import SQUARENESS, THE_FRAME
from tapmark.measures.result import Measured, NotMeasured, Results
from tests.examples import examples
from tests.measures.made import MIDDLE, PICTURES, SET_UP, SIZE, Pose, run_of

ANGLE = st.floats(-60, 75)
SHANK = st.floats(-120, 40)
POSE = st.builds(
    Pose,
    lean=st.floats(-15, 40),
    near=st.tuples(ANGLE, SHANK),
    far=st.tuples(ANGLE, SHANK),
    hip=st.tuples(st.floats(-0.5, 0.5), st.floats(-0.1, 0.1)),
    arm=st.floats(-80, 80),
)
STEP = st.fixed_dictionaries(dict.fromkeys(PICTURES, POSE))
KINKED = ("arm_range", "hip_share")  # largest − smallest, max(0, …): no slope where they switch
FEW = settings(max_examples=examples(10))


def agree(one: Results, other: Results, *, doubt: float = 1e-6) -> None:
    """Both have the same rows, values and doubts; doubt: how far those may lie apart, relative."""
    assert one.rows.keys() == other.rows.keys()
    for key, row in one.rows.items():
        twin = other.rows[key]
        assert isinstance(twin, type(row)), (key, row, twin)
        if isinstance(row, Measured) and isinstance(twin, Measured):
            assert np.isclose(twin.value, row.value, rtol=1e-6, atol=1e-6), key
            assert np.isclose(twin.u, row.u, rtol=doubt, atol=1e-9) or key[0] in KINKED, key


@FEW
@given(STEP)
def test_a_mirrored_run_is_the_same_run(poses: dict[str, Pose]) -> None:
    agree(measure_run(run_of(poses)), measure_run(run_of(poses, sign=-1)))


@FEW
@given(STEP, st.floats(-8, 8))
def test_a_rolled_camera_with_its_upright_is_the_same_run(
    poses: dict[str, Pose], roll_deg: float
) -> None:
    lean = 600 * np.tan(np.radians(roll_deg))
    no_distance = replace(SET_UP, camera_distance_m=None)  # where the hip stands would change
    level = replace(no_distance, upright_px=((800.0, 1000.0), (800.0, 400.0)))
    rolled = replace(no_distance, upright_px=((800.0, 1000.0), (800.0 + lean, 400.0)))

    agree(
        measure_run(run_of(poses, set_up=level)),
        measure_run(run_of(poses, set_up=rolled, roll_deg=roll_deg)),
        doubt=0.02,  # taps are moved along the picture's axes, which now lie otherwise
    )


@FEW
@given(STEP, st.floats(0.3, 3.0))
def test_zoom_about_the_middle_changes_nothing(poses: dict[str, Pose], zoom: float) -> None:
    set_up = replace(SET_UP, camera_distance_m=None)

    agree(
        measure_run(run_of(poses, set_up=set_up)),
        measure_run(run_of(poses, set_up=set_up, zoom=zoom)),
    )


@FEW
@given(STEP, st.floats(-300, 300), st.floats(-300, 300))
def test_the_place_in_the_picture_changes_only_what_lies_off_the_axis(
    poses: dict[str, Pose], right: float, down: float
) -> None:
    """How far from the middle a runner stands is seen under another angle: a doubt of its own,
    which shares its cross term with that of the frame. Values and all other parts stay."""
    set_up = replace(SET_UP, camera_distance_m=None)
    there = measure_run(run_of(poses, set_up=set_up))
    moved = measure_run(run_of(poses, set_up=set_up, shift=(right, down)))

    assert there.rows.keys() == moved.rows.keys()
    for key, row in there.rows.items():
        twin = moved.rows[key]
        assert isinstance(twin, type(row)), (key, row, twin)
        if isinstance(row, Measured) and isinstance(twin, Measured):
            assert np.isclose(twin.value, row.value, rtol=1e-6, atol=1e-6), key
            if key[0] not in KINKED:
                assert other_parts(twin) == pytest.approx(other_parts(row), rel=1e-5), key


def other_parts(row: Measured) -> dict[str, float]:
    """Return the parts of a doubt that have nothing to do with where the runner stands.

    What rounding leaves of a part that is none, under a millionth of the whole, is no part.
    """
    placed = (SQUARENESS, THE_FRAME)
    return {name: part for name, part in row.parts if name not in placed and part > 1e-6 * row.u}


@FEW
@given(STEP, st.floats(1.5, 3.0))
def test_another_unit_of_length_scales_metres_only(poses: dict[str, Pose], times: float) -> None:
    metres = replace(
        SET_UP, scale_px=((900, 900), (1500, 900)), scale_m=2.0, camera_distance_m=None
    )
    longer = replace(metres, scale_m=2.0 * times)

    one, other = (measure_run(run_of(poses, set_up=each)) for each in (metres, longer))

    for key, row in one.rows.items():
        twin = other.rows[key]
        if isinstance(row, Measured) and isinstance(twin, Measured):
            scale = times if row.unit in ("m", "m/s", "cm") else 1.0
            assert np.isclose(twin.value, scale * row.value, rtol=1e-9), key


@FEW
@given(STEP, st.randoms(use_true_random=False))
def test_the_order_of_taps_and_key_frames_changes_nothing(poses, shuffler) -> None:  # type: ignore[no-untyped-def]
    run = run_of(poses)
    frames = []
    for frame in run.steps[0].key_frames:
        taps = list(frame.taps)
        shuffler.shuffle(taps)
        frames.append(replace(frame, taps=tuple(taps)))
    shuffler.shuffle(frames)
    shuffled = replace(run, steps=(replace(run.steps[0], key_frames=tuple(frames)),))

    agree(measure_run(run), measure_run(shuffled))


@FEW
@given(STEP, st.floats(0.1, 8.0))
def test_slow_motion_undone_is_the_same_run(poses: dict[str, Pose], factor: float) -> None:
    slow = run_of(poses, hz=240.0 / factor, set_up=replace(SET_UP, slow_factor=factor))

    agree(measure_run(run_of(poses)), measure_run(slow))


PLACE = st.one_of(
    st.none(), st.just(MIDDLE), st.tuples(st.floats(0, SIZE[0]), st.floats(0, SIZE[1]))
)
CERTAINTY = st.sampled_from(("sure", "guess", "behind", "hidden"))
TAPPED = st.sampled_from(("sure", "guess"))


@st.composite
def wild_runs(draw: st.DrawFn) -> Run:
    """Runs as nobody would mark them: points missing, hidden, on one spot, anywhere."""
    frames = []
    for event in draw(st.lists(st.sampled_from(tuple(STANDARD)), unique=True)):
        taps = []
        for point in draw(st.lists(st.sampled_from(STANDARD[event]), unique=True)):
            at_px = draw(PLACE)
            certainty = draw(CERTAINTY if at_px is None else TAPPED)
            taps.append(Tap(point, at_px, certainty))
        time_s = draw(st.one_of(st.none(), st.floats(0, 2)))
        interval_s = draw(st.one_of(st.none(), st.floats(0.002, 0.05)))
        picture = draw(st.integers(0, 300))
        frames.append(KeyFrame(event, picture, time_s, interval_s, taps=tuple(taps)))
    answers = {
        "slow_factor": draw(st.one_of(st.none(), st.floats(0.1, 10))),
        "camera": draw(st.sampled_from(("tripod", "panned", "hand-held"))),
        "scale_px": draw(st.sampled_from((None, ((0, 0), (0, 0)), ((0, 0), (400, 0))))),
        "scale_m": draw(st.sampled_from((None, 0.0, 2.0))),
        "leg_cm": draw(st.sampled_from((None, 88.0))),
        "upright_px": draw(st.sampled_from((None, ((5, 5), (5, 5)), ((5, 500), (5, 5))))),
        "speed_mps": draw(st.sampled_from((None, 7.0))),
    }
    run = run_of()
    return replace(
        run,
        source=replace(run.source, size_px=draw(st.sampled_from(((0, 0), SIZE)))),
        set_up=replace(run.set_up, **answers),
        steps=(Step(tuple(frames)),),
    )


@settings(max_examples=examples(100))
@given(wild_runs())
def test_whatever_was_tapped_gives_numbers_with_a_doubt_or_reasons(run: Run) -> None:
    for row in measure_run(run).rows.values():
        if isinstance(row, NotMeasured):
            assert row.reason.strip()
        else:
            assert np.isfinite([row.value, row.u, row.plus_minus]).all(), row
            assert row.u > 0, row
            assert all(np.isfinite(sd) and sd >= 0 for _, sd in row.parts), row
