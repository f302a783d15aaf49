"""The drawn runners that ship with Tapmark, and what is true of their frames (truth.json)."""

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from tapmark import disk
from tapmark.errors import NotThere
from tapmark.marks.people import CONSENTS, Athlete, Consent, Length
from tapmark.marks.run import SetUp

Truth = Mapping[str, Any]
"""Points in px of the upright frame, times in s after the true touchdown, lengths in cm and m."""
FILMED = "2026-05-14"
AGREED = "2026-02-01"
PRACTICE = "practice"
PACKAGE = Path(__file__).resolve().parent.parent


def sample_frames() -> Path:
    """Return the folder of samples: inside an installed package, else beside the checkout's.

    Raises NotThere when neither is there.
    """
    for folder in (PACKAGE / "sample_frames", PACKAGE.parent / "sample_frames"):
        if folder.is_dir():
            return folder
    raise NotThere("The sample frames are missing. Install Tapmark again to bring them back.")


def practice_clips(samples: Path) -> tuple[Path, ...]:
    """Return the drawn clips for practice in the folder of samples, in order of their codes."""
    folder = samples / PRACTICE
    return tuple(folder / code / "clip.mp4" for code in sample_codes(folder))


def sample_codes(folder: Path) -> tuple[str, ...]:
    """Return the codes of the sample athletes, in order."""
    return tuple(sorted(path.parent.name for path in folder.glob("*/truth.json")))


def earlier_visits(folder: Path, code: str) -> tuple[str, ...]:
    """Return the days of a sample athlete's visits before the newest, oldest first."""
    return tuple(sorted(path.parent.name for path in (folder / code).glob("*/truth.json")))


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
        upright_px=(pair(pole["foot"]), pair(pole["top"])),
        scale_px=(pair(marks["points"][0]), pair(marks["points"][1])),
        scale_m=marks["apart_m"],
        leg_cm=float(round(truth["athlete"]["leg_length_cm"])),
        leg_source="tape",
        zone="flying zone 40–50 m",
        effort=9,
        shoes="spikes",
        surface="track",
        pain="no",
    )


def pair(at: list[float]) -> tuple[float, float]:
    """Return a point of a truth as two numbers."""
    x, y = at
    return float(x), float(y)
