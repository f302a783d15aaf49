"""Make the sample pictures: `python -m tests.drawn_runner.make_samples FOLDER`.

Two invented athletes, five stills each, one clip at 240 pictures a second, and beside them
what is true of each picture (truth.json). Run again, it writes the same files again.
"""

import json
import sys
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

import imageio
import numpy as np

from tapmark.errors import CannotWrite
from tests.drawn_runner.athletes import LATE_LEG, LATER_LEG, OVERSTRIDES, RUNS_WELL
from tests.drawn_runner.body import Body
from tests.drawn_runner.camera import View
from tests.drawn_runner.drawn import Picture, centred, key_pictures, true_taps
from tests.drawn_runner.looks import PLUM_AND_GOLD, WHITE_AND_TEAL, Look
from tests.drawn_runner.scene import Scene, draw_clip, draw_step
from tests.drawn_runner.style import EVENTS, Style
from tests.drawn_runner.surroundings import MARKS_APART_M, furniture
from tests.drawn_runner.truth import true_measures

RATE = 240
BEFORE, AFTER = 14, 12
"""Pictures of the clip before touchdown and after opposite touchdown."""

CLIP_GRAIN = 1.8
"""Less grain than the stills: a phone smooths it away before it saves a clip."""


@dataclass(frozen=True)
class Sample:
    """One invented athlete on one day.

    phase: the first picture after touchdown, in intervals.
    dated: of an earlier visit, "" for the newest. share: of the usual size of the pictures.
    """

    code: str
    style: Style
    look: Look
    direction: int
    phase: float
    birth_year: int
    seed: int
    with_clip: bool = False
    with_stills: bool = True
    dated: str = ""
    share: float = 1.0

    @property
    def view(self) -> View:
        usual, share = View(), self.share
        view = View(
            width=round(share * usual.width),
            height=round(share * usual.height),
            px_per_m=share * usual.px_per_m,
            ground_y=share * usual.ground_y,
            direction=self.direction,
        )
        return centred(self.style, view)

    @property
    def pictures(self) -> dict[str, Picture]:
        return key_pictures(self.style, RATE, self.phase)

    def scene(self, grain: float = 2.5) -> Scene:
        return Scene(self.style, self.look, self.view, self.seed, grain)


PRACTICE_SEEDS = {"D01": 3, "D02": 4, "D03": 11}
SAMPLES = (
    Sample("P01", RUNS_WELL, WHITE_AND_TEAL, 1, 0.3, 2001, 1),
    Sample("P02", OVERSTRIDES, PLUM_AND_GOLD, -1, 0.2, 1998, 2, with_clip=True),
)
EARLIER = (
    Sample("P02", LATE_LEG, PLUM_AND_GOLD, -1, 0.2, 1998, 12, dated="2026-03-05", share=0.5),
    Sample("P02", LATER_LEG, PLUM_AND_GOLD, -1, 0.2, 1998, 13, dated="2026-04-09", share=0.5),
)
"""Visits before the newest, so that a season can be seen; small pictures, as of an old phone."""


def still_name(event: str) -> str:
    """File name of a key frame's still; in order of name the step unfolds."""
    return f"{EVENTS.index(event) + 1}-{event.replace(' ', '-')}.jpg"


def make_samples(folder: Path, samples: tuple[Sample, ...] = (*SAMPLES, *EARLIER)) -> list[Path]:
    """Write the samples below the folder and tell which files. CannotWrite if it refuses."""
    written = []
    for sample in samples:
        place = folder / sample.code / sample.dated
        try:
            place.mkdir(parents=True, exist_ok=True)
            written += _write_stills(sample, place) if sample.with_stills else []
            if sample.with_clip:
                written.append(place / "clip.mp4")
                write_clip(sample.scene(CLIP_GRAIN), clip_times(sample), written[-1])
            written.append(_write_truth(sample, place / "truth.json"))
        except OSError as trouble:
            raise CannotWrite(
                f"The samples cannot be written to {place}: {trouble.strerror}. "
                "Choose a folder you may write to."
            ) from trouble
    return written


def _write_stills(sample: Sample, place: Path) -> list[Path]:
    paths = []
    for event, picture in sample.pictures.items():
        path = place / still_name(event)
        still = draw_step(sample.scene(), picture.time_s)
        quality = 88 if sample.share == 1 else 80
        still.save(path, quality=quality, subsampling=0, optimize=True)
        paths.append(path)
    return paths


def clip_times(sample: Sample) -> list[float]:
    """Seconds after touchdown of every picture of the clip."""
    last = sample.pictures["opposite touchdown"].number + AFTER
    return [(number + sample.phase) / RATE for number in range(-BEFORE, last + 1)]


def write_clip(
    scene: Scene,
    times: list[float],
    path: Path,
    tell: Callable[[int, int], None] = lambda drawn, of: None,
) -> None:
    """H.264 at the true rate; one thread and no dates, so that it comes out the same.

    tell: gets (pictures drawn, of how many); what it raises ends the drawing.
    """
    options = "-crf 16 -preset slow -threads 1 -map_metadata -1 -fflags +bitexact -flags +bitexact"
    writer = imageio.get_writer(
        path,
        format="FFMPEG",
        fps=RATE,
        codec="libx264",
        quality=None,
        ffmpeg_log_level="error",
        output_params=options.split(),
    )
    with closing(writer):  # its own `with` leaves ffmpeg running after an error
        for n_drawn, picture in enumerate(draw_clip(scene, np.array(times)), start=1):
            writer.append_data(np.asarray(picture))
            tell(n_drawn, len(times))


def _write_truth(sample: Sample, path: Path) -> Path:
    text = json.dumps(truth_of(sample), indent=2, ensure_ascii=False) + "\n"
    path.write_text(text, encoding="utf-8", newline="\n")
    return path


def truth_of(sample: Sample) -> dict[str, object]:
    """Everything that is true of a sample, as plain data.

    Points in px of the upright picture: x right, y down, origin at the top-left corner, the
    first pixel's centre (0.5, 0.5). Times in seconds after the true touchdown.
    """
    view, times = sample.view, {event: p.time_s for event, p in sample.pictures.items()}
    place = furniture(view)
    truth = {
        "about": "Invented athlete, drawn by our own generator; nobody was filmed.",
        "athlete": _athlete(sample),
        "picture": {"width": view.width, "height": view.height, "px_per_m": view.px_per_m},
        "runs": "left to right" if sample.direction > 0 else "right to left",
        "near_side": "right" if sample.direction > 0 else "left",
        "pictures_per_second": RATE,
        "pole": {"foot": place.pole_foot, "top": place.pole_top},
        "scale_marks": {"points": place.marks, "apart_m": MARKS_APART_M},
        "stills": {event: _still(sample, event) for event in EVENTS},
        "true_measures": true_measures(sample.style),
        "measures_on_the_stills": true_measures(sample.style, times),
    }
    if sample.with_clip:
        truth["clip"] = _clip(sample)
    return {key: _rounded(value) for key, value in truth.items()}


def _athlete(sample: Sample) -> dict[str, object]:
    return {
        "code": sample.code,
        "birth_year": sample.birth_year,
        "event_group": "sprint",
        "height_cm": 100 * sample.style.height_m,
        "leg_length_cm": 100 * Body(sample.style.height_m).leg,
        "consent": {"film": True, "keep stills": True, "print photo": True, "show group": False},
    }


def _still(sample: Sample, event: str) -> dict[str, object]:
    picture = sample.pictures[event]
    taps = true_taps(sample.style, sample.view, {event: picture.time_s})
    return {
        "file": still_name(event),
        "picture": picture.number,
        "time_s": picture.time_s,
        "points": taps[event],
    }


def _clip(sample: Sample) -> dict[str, object]:
    """The clip's file, and which of its pictures (from 0) are the key frames."""
    frames = {event: p.number + BEFORE for event, p in sample.pictures.items()}
    clip: dict[str, object] = {
        "file": "clip.mp4",
        "pictures": len(clip_times(sample)),
        "first_picture_s": clip_times(sample)[0],
        "key_pictures": frames,
    }
    if not sample.with_stills:
        clip["points"] = [_points_at(sample, at_s) for at_s in clip_times(sample)]
    return clip


def _points_at(sample: Sample, at_s: float) -> dict[str, object]:
    """Return every point of a side view at one time, px to a hundredth."""
    at = true_taps(sample.style, sample.view, dict.fromkeys(EVENTS, at_s))
    every = {point: xy for event in EVENTS for point, xy in at[event].items()}
    return {point: (round(x, 2), round(y, 2)) for point, (x, y) in every.items()}


def _rounded(value: object) -> object:
    """The same data with six decimals, which is a hundred-thousandth of a pixel."""
    if isinstance(value, float):
        return round(value, 6)
    if isinstance(value, dict):
        return {key: _rounded(inner) for key, inner in value.items()}
    if isinstance(value, tuple | list):
        return [_rounded(inner) for inner in value]
    return value


def main(arguments: list[str]) -> int:
    """Exit 0 when written, 1 when the folder refuses, 2 when no folder was named."""
    if len(arguments) != 1:
        sys.stderr.write("usage: python -m tests.drawn_runner.make_samples FOLDER\n")
        return 2
    try:
        written = make_samples(Path(arguments[0]))
    except CannotWrite as refusal:
        sys.stderr.write(f"{refusal}\n")
        return 1
    sys.stdout.write("".join(f"{path}\n" for path in written))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
