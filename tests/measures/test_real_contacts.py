"""Real running over force plates, means of 28 runners, and a simulated leg of known onset.

Force plates: M. Duarte, R. N. Watanabe, CC BY 4.0; a part is in tests/measures/files, see README
there. Means: R. K. Fukuchi, C. A. Fukuchi, M. Duarte, PeerJ 5:e3298 (2017), CC BY 4.0, 28 amateurs
on a treadmill. Simulated leg: ISB data set "Inverse dynamics: running", A. J. van den Bogert; see
Proc. Can. Soc. Biomech. 1996, 214; its licence is not stated, so the file stays beside the
checkout and its tests run with the long ones.
"""

import csv
import logging
from math import ceil, floor
from pathlib import Path

import numpy as np
import pytest

from tapmark.checklist.criteria import load
from tapmark.checklist.judge import judge_rows
from tapmark.geometry.planar import hang_deg, joint_deg, length
from tapmark.marks.points import SIDE_EVENTS, STANDARD
from tapmark.marks.run import KeyFrame, Run, SetUp, Source, Step, Tap
from tapmark.measures.compute import measure_run
from tests.measures.made import Pose, number, run_of, with_set_up

LOG = logging.getLogger(__name__)
HZ = 150.0
# Force above 10, 20, 50 N: right on, right off, left on, seconds.
PLATES = {10: (0.0514, 0.3042, 0.3988), 20: (0.0541, 0.3000, 0.4014), 50: (0.0582, 0.2925, 0.4058)}
# What a coach picks at 20 N: first picture at or after on, last before off (rows count from 1).
ROWS = {
    "touchdown": 10,
    "mid-stance": 22,
    "toe-off": 46,
    "peak knee lift": 47,
    "opposite touchdown": 62,
}


PLATE_FILE = Path(__file__).parent / "files" / "force_plates_150hz.csv"


@pytest.fixture(scope="module")
def rows() -> dict[int, dict[str, str]]:
    """The rows of the force plates by frame number, which starts at 1."""
    with PLATE_FILE.open(encoding="utf-8", newline="") as file:
        return {int(row["frame"]): row for row in csv.DictReader(file)}


Rows = dict[int, dict[str, str]]


def point(row: dict[str, str], point: str, axes: str = "xy") -> np.ndarray:
    side, _, joint = point.partition(" ")
    name = f"{dict(near='right', far='left')[side]}_{joint}" if joint else f"right_{point}"
    return np.array([float(row[f"{name}_{axis}_mm"]) for axis in axes])


def plate_run(rows: dict[int, dict[str, str]], chosen: dict[str, int]) -> Run:
    frames = []
    for event in SIDE_EVENTS:
        number = chosen[event]
        places = {name: point(rows[number], name) for name in STANDARD[event] if name != "near toe"}
        taps = tuple(
            Tap(name, (1000 + 0.4 * float(x), 900 - 0.4 * float(y)))
            for name, (x, y) in places.items()
        )
        frames.append(KeyFrame(event, number, (number - 1) / HZ, 1 / HZ, taps=taps))
    return Run(
        source=Source("clip", "", (3000, 1200)),
        set_up=SetUp(slow_factor=1.0, camera="tripod, levelled", context="race pace"),
        steps=(Step(tuple(frames)),),
    )


def test_pictures_picked_are_those_in_which_a_plate_feels_the_foot(rows: Rows) -> None:
    on_right, on_left = (
        [at for at, row in rows.items() if float(row[f"{side}_Fy_N"]) >= 20.0]
        for side in ("right", "left")
    )

    assert (on_right[0], on_right[-1]) == (ROWS["touchdown"], ROWS["toe-off"])
    assert on_left[0] == ROWS["opposite touchdown"]


def test_contact_and_flight_are_those_of_the_force_plates(rows: Rows) -> None:
    results = measure_run(plate_run(rows, ROWS))
    on, off, next_on = PLATES[20]

    contact_s, flight_s, step_s = (
        number(results, key).value / 1000 for key in ("contact_time", "flight_time", "step_time")
    )
    assert contact_s == pytest.approx(off - on, abs=1 / HZ)
    assert flight_s == pytest.approx(next_on - off, abs=1 / HZ)
    assert step_s == pytest.approx(next_on - on, abs=1 / HZ)
    for low_on, low_off, _ in PLATES.values():  # what counts as contact is worth ± two pictures
        assert contact_s == pytest.approx(low_off - low_on, abs=2.5 / HZ)


def test_the_stated_doubt_of_times_covers_every_force_threshold(rows: Rows) -> None:
    row = number(measure_run(plate_run(rows, ROWS)), "step_time")

    for on, _, next_on in PLATES.values():
        assert abs(row.value / 1000 - (next_on - on)) <= row.plus_minus / 1000


def test_knees_in_the_side_view_are_close_to_those_in_space(rows: Rows) -> None:
    off = []
    for row in rows.values():
        hip, knee, ankle = (point(row, name, "xyz") for name in ("hip", "near knee", "near ankle"))
        u, v = hip - knee, ankle - knee
        in_space = np.degrees(np.arccos(u @ v / np.linalg.norm(u) / np.linalg.norm(v)))
        flat = joint_deg(hang_deg(hip[:2], knee[:2]), hang_deg(knee[:2], ankle[:2]))
        off.append(abs(float(flat) - in_space))

    LOG.info("side view against space: median %.2f°, largest %.2f°", np.median(off), max(off))
    assert np.median(off) < 1.0
    assert max(off) < 6.0


@pytest.mark.parametrize("n", [12, pytest.param(300, marks=pytest.mark.long)])
def test_the_length_check_does_not_cry_wolf_on_real_scatter(rows: Rows, n: int) -> None:
    """Real segment lengths scatter by 8 to 14 mm; pictures are shifted to try many poses."""
    random = np.random.default_rng(3)
    alarms = 0
    for _ in range(n):
        chosen = {event: row + int(random.integers(-3, 4)) for event, row in ROWS.items()}
        chosen["peak knee lift"] = max(chosen["peak knee lift"], chosen["toe-off"] + 1)
        alarms += lengths_told(plate_run(rows, chosen))

    LOG.info("length check on real points: %d alarms in %d runs", alarms, n)
    assert not lengths_told(plate_run(rows, ROWS))
    assert alarms <= 0.02 * n


def lengths_told(run: Run) -> bool:
    return any(check.name == "length" for check in measure_run(run).checks)


def test_a_known_asymmetry_is_seen(rows: Rows) -> None:
    """Ankle ahead of hip at contact: +119 mm right, +286 mm left, our own sum."""
    results = measure_run(plate_run(rows, ROWS))

    near, far = (number(results, "ankle_hip", leg).value for leg in ("near", "far"))
    assert far > near + 10


@pytest.mark.parametrize("fps", [30, 60, 120, 240])
def test_an_exact_contact_is_read_without_bias_at_any_rate(fps: int) -> None:
    on, off, next_on = 0.3000, 0.5194, 0.6700  # force is exactly nil outside; the last is ours
    errors = []
    for phase in (np.arange(400) + 0.5) / 400:
        first = np.ceil(on * fps - phase)
        last = np.floor(off * fps - phase)
        other = np.ceil(next_on * fps - phase)
        frames = tuple(
            KeyFrame(event, int(k), (k + phase) / fps, 1 / fps)
            for event, k in (("touchdown", first), ("toe-off", last), ("opposite touchdown", other))
        )
        results = measure_run(Run(set_up=SetUp(slow_factor=1.0), steps=(Step(frames),)))
        row = number(results, "contact_time", "near")
        errors.append(row.value / 1000 - (off - on))
        assert abs(errors[-1]) <= 1 / fps
        assert abs(errors[-1]) <= row.plus_minus / 1000

    part = (off - on) * fps % 1.0
    assert np.mean(errors) == pytest.approx(0.0, abs=0.01 / fps)
    assert np.std(errors) == pytest.approx((part * (1 - part)) ** 0.5 / fps, rel=0.02)


# Fukuchi 2017, means of 28 amateurs, contact above 20 N; the averages are a third party's. Speed
# in m/s: stride in s, share of it in contact; bend of the knee at touchdown and largest in stance,
# thigh ahead of straight down at touchdown, degrees.
AMATEURS = {
    2.5: (0.7451, 0.385, 9.4, 42.0, 17.1),
    3.5: (0.7031, 0.337, 10.3, 42.9, 21.0),
    4.5: (0.6570, 0.322, 11.8, 43.4, 24.9),
}


def amateur(speed: float) -> Run:
    """Return the mean runner as a marked run: one leg at touchdown and at mid-stance, and times."""
    stride, share, bend, most_bend, thigh = AMATEURS[speed]
    leg = ("hip", "near knee", "near ankle")
    poses = {
        "touchdown": Pose(6.0, (thigh, thigh - bend), (0.0, 0.0)),
        "mid-stance": Pose(6.0, (most_bend / 2, -most_bend / 2), (0.0, 0.0)),  # ankle under hip
        "toe-off": Pose(6.0, (0.0, 0.0), (0.0, 0.0)),
        "opposite touchdown": Pose(6.0, (0.0, 0.0), (0.0, 0.0)),
    }
    pictures = {
        "touchdown": 100,
        "mid-stance": 100 + round(0.45 * share * stride * 240),
        "toe-off": 100 + floor(share * stride * 240),
        "opposite touchdown": 100 + ceil(stride / 2 * 240),
    }
    points = {event: leg if event in ("touchdown", "mid-stance") else () for event in poses}
    made = run_of(poses, points=points, pictures=pictures)
    return with_set_up(made, context="race pace", speed_mps=speed)


@pytest.mark.parametrize("speed", AMATEURS)
def test_mean_runner_comes_out_as_published(speed: float) -> None:
    stride, share, bend, most_bend, thigh = AMATEURS[speed]
    found = measure_run(amateur(speed))

    assert number(found, "contact_time", "near").value == pytest.approx(
        1000 * share * stride, abs=1000 / 240
    )
    assert number(found, "flight_time").value == pytest.approx(
        1000 * (0.5 - share) * stride, abs=1000 / 240
    )
    assert number(found, "step_rate").value == pytest.approx(2 / stride, rel=0.02)
    assert number(found, "knee_touchdown", "near").value == pytest.approx(180 - bend, abs=0.01)
    assert number(found, "knee_bend", "near").value == pytest.approx(most_bend - bend, abs=0.01)
    assert number(found, "reach", "near").value == pytest.approx(thigh - bend, abs=0.01)


@pytest.mark.parametrize("speed", AMATEURS)
def test_mean_amateur_is_told_of_no_fault(speed: float) -> None:
    """What most people do at ordinary speeds is no fault at race pace."""
    verdicts = judge_rows(measure_run(amateur(speed)), load())
    words = {row.result.key: row.word for row in verdicts}

    assert {"reach", "knee_touchdown", "knee_bend", "leg_stack"} <= set(words)
    assert not {"seen", "likely"} & set(words.values())


def simulated(shared: Path, time_s: float) -> dict[str, np.ndarray]:
    path = shared / "data" / "simulated_run_100hz.csv"
    with path.open(encoding="utf-8", newline="") as file:
        rows = {round(float(row["time_s"]), 4): row for row in csv.DictReader(file)}
    return {
        joint: np.array([float(rows[time_s][f"{joint}_{axis}_m"]) for axis in "xy"])
        for joint in ("hip", "knee", "ankle")
    }


@pytest.mark.long
@pytest.mark.parametrize(
    ("time_s", "flexion_deg"), [(0.00, -26.4), (0.30, 19.38), (0.55, -45.7), (0.60, -70.5)]
)
def test_a_simulated_knee_keeps_its_sign_through_hyperextension(
    shared: Path, time_s: float, flexion_deg: float
) -> None:
    at = simulated(shared, time_s)

    knee = joint_deg(hang_deg(at["hip"], at["knee"]), hang_deg(at["knee"], at["ankle"]))

    assert knee == pytest.approx(180 - flexion_deg, abs=0.05)


@pytest.mark.long
def test_a_simulated_leg_at_contact_is_where_it_was_published_to_be(shared: Path) -> None:
    at = simulated(shared, 0.30)

    assert hang_deg(at["hip"], at["knee"]) == pytest.approx(23.41, abs=0.01)
    assert hang_deg(at["knee"], at["ankle"]) == pytest.approx(4.04, abs=0.07)
    assert at["ankle"][0] - at["hip"][0] == pytest.approx(0.2078, abs=1e-4)
    assert length(at["hip"], at["knee"]) == pytest.approx(0.4510, abs=1e-5)
    assert length(at["knee"], at["ankle"]) == pytest.approx(0.4060, abs=1e-5)
