"""What paths measure: by hand on curves of known shape, and on published runners with tap error.

Published runners: see published.py (beside the checkout, long tests only); the force plates are in
tests/measures/files, see README there (M. Duarte, R. N. Watanabe, CC BY 4.0).
"""

import logging
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from tapmark.marks.run import KeyFrame, Place, Run, SetUp, Source, Step
from tapmark.marks.run import Path as Followed
from tapmark.measures import paths as of_paths
from tapmark.measures.card import DEFAULT_CARD
from tapmark.measures.paths import (
    FOOT_SPEED,
    FOOT_SPEED_TO_HIP,
    HIP_DIP,
    HIP_DIP_CM,
    HIP_LOWEST,
    SHIN_SWING,
    SIDEWAYS,
    path_values,
    shin_word,
)
from tapmark.measures.result import Measured, NotMeasured, Result
from tests.drawn_runner.coach import ELSEWHERE_SD_PERCENT, TAP_SD_PERCENT
from tests.measures import followed
from tests.measures.published import ALL, FILES, PX_PER_M, feet, place, table
from tests.measures.test_real_contacts import PLATE_FILE, PLATES

LOG = logging.getLogger(__name__)
HZ = 240.0
LANDED, LEFT = 60, 90  # frames of touchdown and toe-off
LEG_PX = 0.9 * PX_PER_M


def run_of(*paths: Followed, view: str = "side", sign: int = 1, **answers: object) -> Run:
    """A run at 240 frames a second with touchdown, toe-off and these paths; 400 px are a metre."""
    frames = tuple(
        KeyFrame(event, number, number / HZ, 1 / HZ)
        for event, number in (("touchdown", LANDED), ("toe-off", LEFT))
    )
    set_up = SetUp(
        direction="left to right" if sign > 0 else "right to left",
        slow_factor=1.0,
        camera="tripod, levelled",
        scale_px=((100.0, 900.0), (900.0, 900.0)),
        scale_m=2.0,
        leg_cm=90.0,
        leg_source="tape",
    )
    set_up = replace(set_up, **answers)  # type: ignore[arg-type]
    steps = (Step(frames),) if view == "side" else (Step(),)
    return Run(
        view, source=Source("clip", "", (2000, 1000)), set_up=set_up, steps=steps, paths=paths
    )


def path(point: str, first: int, last: int, at, by: int = 1, sign: int = 1) -> Followed:  # type: ignore[no-untyped-def]
    """A path of exact places; at: seconds since landing (half an interval before) → X, Y in m."""
    places = []
    for number in range(first, last + 1, by):
        x, y = at((number - LANDED + 0.5) / HZ)
        places.append(Place(number, (1000 + sign * PX_PER_M * x, 500 - PX_PER_M * y), number / HZ))
    return Followed(point, tuple(places))


def found(run: Run) -> dict[str, Result]:
    return {each.key: each for _, each in path_values(run, 0, DEFAULT_CARD)}


def value(run: Run, key: str) -> Measured:
    each = found(run)[key]
    assert isinstance(each, Measured), each
    return each


def reason(run: Run, key: str) -> str:
    each = found(run)[key]
    assert isinstance(each, NotMeasured), each
    return each.reason


def hip(time_s: float) -> tuple[float, float]:
    """Runs 8 m/s; a parabola that is lowest 50 ms after landing and sinks 4 cm until then."""
    return 8.0 * time_s, 0.04 * ((time_s - 0.05) / 0.05) ** 2


def ankle(time_s: float) -> tuple[float, float]:
    """Moves on at 3 m/s over the ground."""
    return 0.3 + 3.0 * time_s, -0.8


HIP = path("hip", LANDED - 2, LEFT + 1, hip)
ANKLE = path("near ankle", LANDED - 12, LANDED, ankle)


@pytest.mark.parametrize("sign", [1, -1])
def test_hip_and_foot_come_out_as_they_were_made(sign: int) -> None:
    hips = path("hip", LANDED - 12, LEFT + 1, hip, sign=sign)
    run = run_of(hips, path("near ankle", LANDED - 12, LANDED, ankle, sign=sign), sign=sign)

    assert value(run, HIP_DIP_CM).value == pytest.approx(4.0)
    assert value(run, HIP_DIP).value == pytest.approx(4.0 / 0.9)
    assert value(run, HIP_LOWEST).value == pytest.approx(50.0)
    assert value(run, FOOT_SPEED).value == pytest.approx(3.0)
    followed_camera = run_of(*run.paths, sign=sign, camera="panned")
    assert value(followed_camera, FOOT_SPEED_TO_HIP).value == pytest.approx((3.0 - 8.0) / 0.9)


@pytest.mark.parametrize(("turns", "word"), [(-30.0, "swings back"), (30.0, "swings forward")])
def test_the_shin_s_turn_is_that_of_its_last_40_ms(turns: float, word: str) -> None:
    def knee(time_s: float) -> tuple[float, float]:
        shin = np.radians(10.0 + turns * time_s / 0.040)
        x, y = ankle(time_s)
        return x - 0.42 * np.sin(shin), y + 0.42 * np.cos(shin)

    swing = value(run_of(ANKLE, path("near knee", LANDED - 12, LANDED, knee)), SHIN_SWING)

    assert swing.value == pytest.approx(turns)
    assert shin_word(swing) == word
    assert shin_word(replace(swing, value=swing.plus_minus)) == "can't tell"


def test_a_limb_s_way_to_the_side_is_told_against_the_hip_where_that_is_followed() -> None:
    """A cubic is read whole: from −1 to 1 s it runs from −2 to 2 cm and 5 cm of drift on top."""

    def aside(time_s: float) -> tuple[float, float]:
        return 0.02 * (8 * time_s) ** 3 + 0.2 * time_s, 0.0

    def drift(time_s: float) -> tuple[float, float]:
        return 0.2 * time_s, 0.3

    limb = path("near ankle", LANDED - 30, LANDED + 29, aside, by=4)
    ends = [(place.picture - LANDED + 0.5) / HZ for place in (limb.places[0], limb.places[-1])]
    alone = 100 * (aside(ends[1])[0] - aside(ends[0])[0])
    drifted = 100 * (drift(ends[1])[0] - drift(ends[0])[0])
    both = run_of(limb, path("hip", LANDED - 30, LANDED + 29, drift, by=2), view="rear")

    assert value(run_of(limb, view="rear"), SIDEWAYS).value == pytest.approx(alone)
    assert value(both, SIDEWAYS).value == pytest.approx(alone - drifted)
    assert [words for words, _ in path_values(both, 0, DEFAULT_CARD)] == [
        "sideways range of the near ankle"
    ]


def test_the_doubt_of_the_foot_s_speed_is_that_worked_out_by_hand() -> None:
    """Taps: 1.1 % of 360 px over 10 places 1/240 s apart; landing: 98 m/s² over its time error."""
    speed = value(run_of(ANKLE), FOOT_SPEED)

    n = 11  # frames 50 to 60 lie within 40 ms and half an interval
    spread = np.sqrt(np.sum((np.arange(n) - (n - 1) / 2) ** 2)) / HZ
    late_s = np.hypot(0.5 / HZ, np.hypot(0.5, 12**-0.5) / HZ)
    parts = dict(speed.parts)
    assert parts["the taps of the path"] == pytest.approx(0.011 * 0.9 / spread)
    assert parts["the frame"] == pytest.approx(98.0 * late_s)
    assert "never graded" in speed.not_graded
    assert sum(sd**2 for sd in parts.values()) == pytest.approx(speed.u**2)


def test_what_a_path_cannot_tell_says_why_and_what_to_do() -> None:
    gap = Followed("hip", tuple(p for p in HIP.places if not 66 < p.picture < 84))
    untimed = replace(HIP, places=tuple(replace(p, time_s=None) for p in HIP.places))
    one = Followed("near ankle", ANKLE.places[-1:])

    assert "has 0 of the 4 places" in reason(run_of(untimed), HIP_DIP)
    assert "gap of 75 ms" in reason(run_of(gap), HIP_DIP)
    assert "has 1 of the 3 places" in reason(run_of(one), FOOT_SPEED)
    assert "camera moved" in reason(run_of(HIP, camera="panned"), HIP_DIP)
    assert "capture rate" in reason(run_of(HIP, slow_factor=None), HIP_DIP)
    assert "Choose touchdown" in reason(replace(run_of(HIP), steps=(Step(),)), HIP_DIP)
    assert "Choose touchdown" in reason(replace(run_of(ANKLE), steps=(Step(),)), FOOT_SPEED)
    early = Followed("near ankle", ANKLE.places[:6])
    assert "ends 29 ms before touchdown" in reason(run_of(early), FOOT_SPEED)
    no_size = run_of(ANKLE, leg_cm=None, scale_px=None, scale_m=None)
    assert "Tap hip" in reason(no_size, FOOT_SPEED_TO_HIP)
    rear = run_of(ANKLE, view="rear", scale_m=None)
    assert "Set the scale" in reason(rear, SIDEWAYS)
    assert "has 1 of the 6 places" in reason(run_of(one, view="rear"), SIDEWAYS)
    assert path_values(run_of(), 0, DEFAULT_CARD) == ()


def test_the_force_plates_runner_is_read_within_the_doubt() -> None:
    """Left landing at 20 N, 150 frames a second; 200 seeded followers, their share within the ±."""
    on, hz = PLATES[20][2], 150.0
    rows = table(PLATE_FILE)
    numbers = [n for n in rows if on - 0.08 <= (n - 1) / hz <= on + 0.014]
    at_m = {
        point: np.array(
            [[float(rows[n][f"left_{joint}_{x}_mm"]) / 1000 for x in "xy"] for n in numbers]
        )
        for point, joint in (("near ankle", "ankle"), ("near knee", "knee"))
    }
    times = (np.array(numbers) - 1) / hz
    last = np.linspace(on - 0.04, on, 7)
    ankle, shin = (
        np.array([np.interp(last, times, axis) for axis in way.T])
        for way in (at_m["near ankle"], at_m["near ankle"] - at_m["near knee"])
    )
    truth = {
        FOOT_SPEED: np.polyfit(last, ankle[0], 1)[0],
        SHIN_SWING: 0.04 * np.polyfit(last, np.degrees(np.arctan2(shin[0], -shin[1])), 1)[0],
    }
    landed = next(n for n in numbers if (n - 1) / hz >= on)
    frame = KeyFrame("touchdown", landed, (landed - 1) / hz, 1 / hz)
    held = defaultdict(list)
    for seed in range(200):
        random = np.random.default_rng(seed)
        paths = []
        for point, way in at_m.items():
            px = (1000.0, 900.0) + way * (PX_PER_M, -PX_PER_M) + random.normal(0, 3.96, way.shape)
            places = (Place(n, (x, y), (n - 1) / hz) for n, (x, y) in zip(numbers, px, strict=True))
            paths.append(Followed(point, tuple(places)))
        run = replace(run_of(*paths), steps=(Step((frame,)),))
        for key, right in truth.items():
            each = value(run, key)
            held[key].append(abs(each.value - right) <= each.plus_minus)

    for key, each in held.items():
        LOG.info("%s: %.1f %% held", key, 100 * np.mean(each))
        assert np.mean(each) >= 0.93, key


SETTINGS = ((60.0, 1), (120.0, 1), (240.0, 1), (240.0, 4))  # frames a second, one in so many
LEAST_BY_THE_OTHERS = {HIP_DIP: 0.92, FOOT_SPEED: 0.88, FOOT_SPEED_TO_HIP: 0.9, SHIN_SWING: 0.9}
Off = tuple[float, float]  # value − truth, and its standard uncertainty


def errors(
    folder: Path, hz: float, by: int, n_coaches: int, runs: str = "SJT"
) -> Iterator[tuple[str, Off]]:
    """Yield (measure, off) of seeded coaches who follow every step of some published runs."""
    for who, i_step in (each for each in ALL if each[0] in runs):
        stride = followed.stride(folder, who, i_step)
        n = int((followed.LAST_S + 0.5 / hz) * hz / by) + 1
        span = (n - 1) * by / hz
        truth = {
            HIP_DIP: 100 * followed.true_dip_m(stride) / stride.leg_m,
            FOOT_SPEED: followed.true_speed_mps(stride, span, n),
            FOOT_SPEED_TO_HIP: followed.true_speed_mps(stride, span, n, to_hip=True) / stride.leg_m,
            SHIN_SWING: followed.true_swing_deg(stride, span, n),
        }
        for seed in range(n_coaches):
            for has_scale in (True, False):
                run = followed.followed(
                    stride, hz, 1000 * i_step + seed, by=by, has_scale=has_scale
                )
                for each in found(run).values():
                    if each.key in truth and isinstance(each, Measured):
                        yield each.key, (each.value - truth[each.key], each.u)


@pytest.mark.long
def test_paths_of_published_runners_cover_the_truth(shared: Path) -> None:
    """25 contacts at 60, 120 and 240 frames a second, every frame and every fourth; 93 to 97 %."""
    held = defaultdict(list)
    for hz, by in SETTINGS:
        here = defaultdict(list)
        for key, (off, u) in errors(shared, hz, by, 20):
            here[key].append(abs(off) <= 1.96 * u)
        for key, each in here.items():
            LOG.info(
                "%s at %.0f, one in %d: %.1f %% of %d", key, hz, by, 100 * np.mean(each), len(each)
            )
            assert 0.90 <= np.mean(each) <= 0.985, key
            held[key] += each

    assert set(held) == {HIP_DIP, FOOT_SPEED, FOOT_SPEED_TO_HIP, SHIN_SWING}
    for key, each in held.items():
        LOG.info("%s: %.1f %% of %d", key, 100 * np.mean(each), len(each))
        assert 0.93 <= np.mean(each) <= 0.97, key


@pytest.mark.long
def test_the_constants_are_what_the_three_runs_say(shared: Path) -> None:
    for name, told in followed.constants(shared, "SJT").items():
        assert getattr(of_paths, name) == pytest.approx(told, rel=0.02), name


@pytest.mark.long
def test_what_two_published_runs_say_is_tried_on_the_third(
    shared: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each run with the constants of the two others, so that nothing is tried on what set it.

    S and J are one man at two speeds. Two runs say little of a third: the shares are what they
    are, and only a fall below them is caught.
    """
    held = defaultdict(list)
    for who in "SJT":
        for name, told in followed.constants(shared, "SJT".replace(who, "")).items():
            monkeypatch.setattr(of_paths, name, told)
        here = defaultdict(list)
        for hz, by in SETTINGS:
            for key, (off, u) in errors(shared, hz, by, 10, who):
                here[key].append(abs(off) <= 1.96 * u)
        for key, each in here.items():
            LOG.info("%s of %s: %.1f %% of %d", key, who, 100 * np.mean(each), len(each))
            held[key].append(float(np.mean(each)))

    for key, shares in held.items():
        LOG.info("%s, every run alike: %.1f %%", key, 100 * np.mean(shares))
        assert np.mean(shares) >= LEAST_BY_THE_OTHERS[key], key


@pytest.mark.long
def test_the_way_to_the_side_of_published_runners_covers_the_truth(shared: Path) -> None:
    """Near ankle against the hip in the 0.3 s before landing, seen from behind, 24 places."""
    held = []
    for who, i_step in ALL:
        near, _, rows = feet(who, i_step)
        name, hz = FILES[who]
        places = table(shared / "data" / name)
        numbers = [n for n in range(rows[0] - int(0.3 * hz), rows[0]) if n in places]
        at = {
            point: [place(places[n], f"{near}_{point.removeprefix('near ')}") for n in numbers]
            for point in ("near ankle", "hip")
        }
        whole = [i for i in range(len(numbers)) if all(at[point][i] for point in at)]
        chosen = whole[:: max(1, len(whole) // 24)]
        z = {point: np.array([each[i][2] for i in chosen]) for point, each in at.items()}
        truth = 100 * np.ptp(z["near ankle"] - z["hip"])
        for seed in range(20):
            random = np.random.default_rng([seed, i_step])
            paths = []
            for point in at:
                sd = 4.0 * 0.9 * TAP_SD_PERCENT.get(point, ELSEWHERE_SD_PERCENT)
                taps = 1000 + PX_PER_M * z[point] + random.normal(0, sd, len(chosen))
                paths.append(
                    Followed(
                        point,
                        tuple(
                            Place(numbers[i], (float(x), 500.0))
                            for i, x in zip(chosen, taps, strict=True)
                        ),
                    )
                )
            each = value(run_of(*paths, view="rear"), SIDEWAYS)
            held.append(abs(each.value - truth) <= each.plus_minus)

    LOG.info("sideways range: %.1f %% of %d held", 100 * np.mean(held), len(held))
    assert 0.93 <= np.mean(held) <= 0.97
