"""The stored runs of the samples: the truth beside the pictures, marked by a seeded coach.

`python -m tapmark.errands.sample_runs FOLDER` writes run-1.json and times.csv beside every
truth.json below the folder.
"""

import json
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from tapmark import disk
from tapmark.marks.people import CONSENTS, Athlete, Consent, Length
from tapmark.marks.points import STANDARD
from tapmark.marks.run import KeyFrame, Run, SetUp, Source, Step, Tap
from tapmark.practice.coach import tapping_error
from tapmark.store.files import write_bytes, write_json
from tapmark.store.schema import run_to_plain

Truth = Mapping[str, Any]

SEEDS = {"P01": 1, "P02": 2}
FILMED = "2026-05-14"
AGREED = "2026-04-01"


def sample_codes(folder: Path) -> tuple[str, ...]:
    """Return the codes of the sample athletes, in order."""
    return tuple(sorted(path.parent.name for path in folder.glob("*/truth.json")))


def read_truth(folder: Path, code: str) -> Truth:
    """Return what is true of a sample's pictures."""
    truth: Truth = json.loads(disk.read(folder / code / "truth.json", 1_000_000))
    return truth


def sample_athlete(truth: Truth) -> Athlete:
    """Return the invented athlete of a sample, with the consents of the story."""
    told = truth["athlete"]
    consents = tuple(
        Consent(use, bool(told["consent"].get(use)), "the athlete", AGREED) for use in CONSENTS
    )
    return Athlete(
        told["code"],
        told["birth_year"],
        told["event_group"],
        lengths=(Length("leg", float(round(told["leg_length_cm"])), AGREED),),
        consents=consents,
    )


def marked_run(truth: Truth) -> Run:
    """Return the run as a careful coach marked it; the seed belongs to the athlete's code."""
    stills, told = truth["stills"], truth["athlete"]
    points = {event: _pairs(still["points"]) for event, still in stills.items()}
    leg_px = truth["picture"]["px_per_m"] * told["leg_length_cm"] / 100
    taps = tapping_error(points, SEEDS[told["code"]], leg_px)
    rate = truth["pictures_per_second"]
    in_clip = truth.get("clip", {}).get("key_pictures")
    frames = tuple(
        KeyFrame(
            event,
            in_clip[event] if in_clip else number,
            in_clip[event] / rate if in_clip else stills[event]["picture"] / rate,
            1 / rate,
            taps=tuple(Tap(point, _rounded(taps[event][point])) for point in STANDARD[event]),
        )
        for number, event in enumerate(STANDARD)
    )
    return Run(source=_source(truth), set_up=set_up_of(truth), steps=(Step(frames),), marked_by="S")


def _source(truth: Truth) -> Source:
    size = truth["picture"]["width"], truth["picture"]["height"]
    if "clip" in truth:
        return Source("clip", truth["clip"]["file"], size, truth["clip"]["pictures"])
    return Source("stills", "", size, len(truth["stills"]))


def set_up_of(truth: Truth) -> SetUp:
    """Return the answers about filming that are true of a sample."""
    marks, pole = truth["scale_marks"], truth["pole"]
    return SetUp(
        direction=truth["runs"],
        context="sprint",
        slow_factor=1.0,
        rate_source="from the file",
        camera="tripod, levelled",
        camera_distance_m=12.0,
        upright_px=(_pair(pole["foot"]), _pair(pole["top"])),
        scale_px=(_pair(marks["points"][0]), _pair(marks["points"][1])),
        scale_m=marks["apart_m"],
        leg_cm=float(round(truth["athlete"]["leg_length_cm"])),
        leg_source="tape",
        zone="flying zone 40–50 m",
        effort=9,
        shoes="spikes",
        surface="track",
        pain="no",
    )


def _pairs(points: Mapping[str, list[float]]) -> dict[str, tuple[float, float]]:
    return {name: _pair(at) for name, at in points.items()}


def _pair(at: list[float]) -> tuple[float, float]:
    x, y = at
    return float(x), float(y)


def _rounded(at: tuple[float, float]) -> tuple[float, float]:
    return round(at[0], 1), round(at[1], 1)


def times_table(truth: Truth) -> str:
    """Return times.csv of the stills: picture, seconds on the file's clock, true seconds."""
    rate = truth["pictures_per_second"]
    rows = [
        f"{still['file']},{still['picture'] / rate:.6f},{still['picture'] / rate:.6f}"
        for still in truth["stills"].values()
    ]
    return "\r\n".join(["picture,time_s,capture_time_s", *rows, ""])


def write_sample_runs(folder: Path) -> list[Path]:
    """Write run-1.json and times.csv beside each truth.json and return the files."""
    written = []
    for code in sample_codes(folder):
        truth = read_truth(folder, code)
        run, times = folder / code / "run-1.json", folder / code / "times.csv"
        write_json(run, run_to_plain(marked_run(truth)))
        write_bytes(times, times_table(truth).encode())
        written += [run, times]
    return written


if __name__ == "__main__":
    write_sample_runs(Path(sys.argv[1]))
