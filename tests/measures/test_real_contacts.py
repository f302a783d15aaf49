"""Real running over force plates, and a simulated leg whose onset is known exactly.

Force plates: M. Duarte, R. N. Watanabe, course data "running" of the BMC laboratory (Federal
University of ABC), CC BY 4.0. Simulated leg: ISB data set "Inverse dynamics: running", A. J. van
den Bogert; see Proc. Can. Soc. Biomech. 1996, 214. Both files stay beside the checkout.
"""

import csv
import logging
from pathlib import Path

import numpy as np
import pytest

from tapmark.geometry.planar import hang_deg, joint_deg, length
from tapmark.marks.points import SIDE_EVENTS, STANDARD
from tapmark.marks.run import KeyFrame, Run, SetUp, Source, Step, Tap
from tapmark.measures.compute import measure_run
from tests.measures.made import number

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


def plate_rows(shared: Path) -> dict[int, dict[str, str]]:
    with (shared / "data" / "bmclab_run_150hz.csv").open(encoding="utf-8", newline="") as file:
        return {int(row["frame"]): row for row in csv.DictReader(file)}


def point(row: dict[str, str], point: str) -> np.ndarray:
    side, _, joint = point.partition(" ")
    name = f"{dict(near='right', far='left')[side]}_{joint}" if joint else f"right_{point}"
    return np.array([float(row[f"{name}_{axis}_mm"]) for axis in "xyz"])


def plate_run(rows: dict[int, dict[str, str]], chosen: dict[str, int]) -> Run:
    frames = []
    for event in SIDE_EVENTS:
        number = chosen[event]
        places = {name: point(rows[number], name) for name in STANDARD[event] if name != "near toe"}
        taps = tuple(
            Tap(name, (1000 + 0.4 * float(x), 900 - 0.4 * float(y)))
            for name, (x, y, _) in places.items()
        )
        frames.append(KeyFrame(event, number, (number - 1) / HZ, 1 / HZ, taps=taps))
    return Run(
        source=Source("clip", "", (3000, 1200)),
        set_up=SetUp(slow_factor=1.0, camera="tripod, levelled", context="race pace"),
        steps=(Step(tuple(frames)),),
    )


def test_contact_and_flight_are_those_of_the_force_plates(shared: Path) -> None:
    results = measure_run(plate_run(plate_rows(shared), ROWS))
    on, off, next_on = PLATES[20]

    contact_s, flight_s, step_s = (
        number(results, key).value / 1000 for key in ("contact_time", "flight_time", "step_time")
    )
    assert contact_s == pytest.approx(off - on, abs=1 / HZ)
    assert flight_s == pytest.approx(next_on - off, abs=1 / HZ)
    assert step_s == pytest.approx(next_on - on, abs=1 / HZ)
    for low_on, low_off, _ in PLATES.values():  # what counts as contact is worth ± two pictures
        assert contact_s == pytest.approx(low_off - low_on, abs=2.5 / HZ)


def test_the_stated_doubt_of_times_covers_every_force_threshold(shared: Path) -> None:
    row = number(measure_run(plate_run(plate_rows(shared), ROWS)), "step_time")

    for on, _, next_on in PLATES.values():
        assert abs(row.value / 1000 - (next_on - on)) <= row.plus_minus / 1000


def test_knees_in_the_side_view_are_close_to_those_in_space(shared: Path) -> None:
    rows = plate_rows(shared)
    off = []
    for number_ in range(1, len(rows) + 1):
        hip, knee, ankle = (
            point(rows[number_], name) for name in ("hip", "near knee", "near ankle")
        )
        u, v = hip - knee, ankle - knee
        in_space = np.degrees(np.arccos(u @ v / np.linalg.norm(u) / np.linalg.norm(v)))
        flat = joint_deg(hang_deg(hip[:2], knee[:2]), hang_deg(knee[:2], ankle[:2]))
        off.append(abs(float(flat) - in_space))

    LOG.info("side view against space: median %.2f°, largest %.2f°", np.median(off), max(off))
    assert np.median(off) < 1.0
    assert max(off) < 6.0


def test_the_length_check_does_not_cry_wolf_on_real_scatter(shared: Path) -> None:
    """Real segment lengths scatter by 8 to 14 mm; pictures are shifted to try many poses."""
    rows, random = plate_rows(shared), np.random.default_rng(3)
    alarms = 0
    for _ in range(300):
        chosen = {event: row + int(random.integers(-3, 4)) for event, row in ROWS.items()}
        chosen["peak knee lift"] = max(chosen["peak knee lift"], chosen["toe-off"] + 1)
        alarms += lengths_told(plate_run(rows, chosen))

    LOG.info("length check on real points: %d alarms in 300 runs", alarms)
    assert not lengths_told(plate_run(rows, ROWS))
    assert alarms <= 6


def lengths_told(run: Run) -> bool:
    return any(check.name == "length" for check in measure_run(run).checks)


def test_a_known_asymmetry_is_seen(shared: Path) -> None:
    """Ankle ahead of hip at contact: +119 mm right, +286 mm left, our own sum."""
    rows = plate_rows(shared)
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


def simulated(shared: Path, time_s: float) -> dict[str, np.ndarray]:
    path = shared / "data" / "simulated_run_100hz.csv"
    with path.open(encoding="utf-8", newline="") as file:
        rows = {round(float(row["time_s"]), 4): row for row in csv.DictReader(file)}
    return {
        joint: np.array([float(rows[time_s][f"{joint}_{axis}_m"]) for axis in "xy"])
        for joint in ("hip", "knee", "ankle")
    }


@pytest.mark.parametrize(
    ("time_s", "flexion_deg"), [(0.00, -26.4), (0.30, 19.38), (0.55, -45.7), (0.60, -70.5)]
)
def test_a_simulated_knee_keeps_its_sign_through_hyperextension(
    shared: Path, time_s: float, flexion_deg: float
) -> None:
    at = simulated(shared, time_s)

    knee = joint_deg(hang_deg(at["hip"], at["knee"]), hang_deg(at["knee"], at["ankle"]))

    assert knee == pytest.approx(180 - flexion_deg, abs=0.05)


def test_a_simulated_leg_at_contact_is_where_it_was_published_to_be(shared: Path) -> None:
    at = simulated(shared, 0.30)

    assert hang_deg(at["hip"], at["knee"]) == pytest.approx(23.41, abs=0.01)
    assert hang_deg(at["knee"], at["ankle"]) == pytest.approx(4.04, abs=0.07)
    assert at["ankle"][0] - at["hip"][0] == pytest.approx(0.2078, abs=1e-4)
    assert length(at["hip"], at["knee"]) == pytest.approx(0.4510, abs=1e-5)
    assert length(at["knee"], at["ankle"]) == pytest.approx(0.4060, abs=1e-5)
