"""The samples beside the package are small, current, and made again alike."""

import json
from pathlib import Path

import av
import numpy as np
import pytest
from PIL import Image

from tapmark.errors import CannotWrite
from tapmark.services.samples import earlier_visits, read_truth
from tapmark.store.schema import RUN_FILE
from tests.drawn_runner.make_samples import (
    EARLIER,
    SAMPLES,
    Sample,
    clip_times,
    main,
    make_samples,
    still_name,
    truth_of,
    write_clip,
)
from tests.drawn_runner.runs import marked_run
from tests.drawn_runner.scene import draw_step

KEPT = Path(__file__).parents[2] / "sample_frames"
EACH = pytest.mark.parametrize("sample", SAMPLES, ids=lambda s: s.code)
EVERY = pytest.mark.parametrize("sample", (*SAMPLES, *EARLIER), ids=lambda s: s.code + s.dated)


@EVERY
def test_five_stills_of_at_most_250_kb(sample: Sample) -> None:
    stills = sorted((KEPT / sample.code / sample.dated).glob("*.jpg"))
    assert [still_name(event) for event in sample.pictures] == [p.name for p in stills]
    assert max(p.stat().st_size for p in stills) <= 250_000


def test_the_clip_has_at_most_2_mb_and_all_samples_leave_room_in_the_wheel() -> None:
    assert (KEPT / "P02" / "clip.mp4").stat().st_size <= 2_000_000
    assert sum(p.stat().st_size for p in KEPT.rglob("*") if p.is_file()) <= 4_000_000


@EVERY
def test_the_kept_truth_is_the_generators(sample: Sample) -> None:
    place = KEPT / sample.code / sample.dated
    kept = json.loads((place / "truth.json").read_text("utf-8"))
    assert json.loads(json.dumps(truth_of(sample))) == approximately(kept)


def approximately(value: object) -> object:
    """Numbers to a hundred-thousandth, anything else exactly."""
    if isinstance(value, dict):
        return {k: approximately(v) for k, v in value.items()}
    if isinstance(value, list):
        return [approximately(v) for v in value]
    return pytest.approx(value, abs=1e-5) if isinstance(value, float) else value


@pytest.mark.parametrize(
    "sample",
    (SAMPLES[1], *(pytest.param(s, marks=pytest.mark.long) for s in (SAMPLES[0], *EARLIER))),
    ids=lambda s: s.code + s.dated,
)
def test_kept_stills_are_what_the_generator_draws(sample: Sample) -> None:
    event = "toe-off"
    with Image.open(KEPT / sample.code / sample.dated / still_name(event)) as picture:
        kept = np.asarray(picture, float)
    drawn = np.asarray(draw_step(sample.scene(), sample.pictures[event].time_s), float)
    most = 2.5 if sample.share == 1 else 3.5  # what JPEG does to grain, and a smaller file
    assert np.abs(kept - drawn).mean() < most


@pytest.mark.parametrize("sample", EARLIER, ids=lambda s: s.dated)
def test_the_kept_run_of_an_earlier_visit_is_the_seeded_coachs(sample: Sample) -> None:
    kept = json.loads((KEPT / sample.code / sample.dated / "run-1.json").read_text("utf-8"))
    truth = read_truth(KEPT / sample.code, sample.dated)
    assert RUN_FILE.write(marked_run(truth, sample.dated)) == kept
    assert earlier_visits(KEPT, sample.code) == tuple(each.dated for each in EARLIER)


def test_p01_shows_the_right_side_and_p02_the_left() -> None:
    well, over = (truth_of(sample) for sample in SAMPLES)
    assert (well["runs"], well["near_side"]) == ("left to right", "right")
    assert (over["runs"], over["near_side"]) == ("right to left", "left")


@EACH
def test_the_athletes_are_grown_up_and_agreed(sample: Sample) -> None:
    athlete = truth_of(sample)["athlete"]
    assert sample.birth_year <= 2005
    assert athlete["consent"]["film"] and athlete["consent"]["keep stills"]  # type: ignore[index]


@EVERY
def test_all_true_points_lie_inside_the_picture(sample: Sample) -> None:
    width, height = sample.view.width, sample.view.height
    for still in truth_of(sample)["stills"].values():  # type: ignore[attr-defined]
        for name, (x, y) in still["points"].items():
            assert 0 < x < width and 0 < y < height, name


def test_the_clip_runs_at_240_pictures_a_second() -> None:
    with av.open(str(KEPT / "P02" / "clip.mp4")) as clip:
        stream = clip.streams.video[0]
        times = [float(frame.time) for frame in clip.decode(stream)]
        assert (stream.codec_context.name, stream.width, stream.height) == ("h264", 1280, 720)
    assert len(clip_times(SAMPLES[1])) == len(times)
    assert np.arange(len(times)) / 240 == pytest.approx(np.array(times) - times[0], abs=1e-4)


def test_the_clip_shows_the_stills_at_the_pictures_it_names() -> None:
    named = truth_of(SAMPLES[1])["clip"]["key_pictures"]  # type: ignore[index]
    with av.open(str(KEPT / "P02" / "clip.mp4")) as clip:
        frames = [frame.to_ndarray(format="rgb24") for frame in clip.decode(video=0)]
    for event, number in named.items():
        with Image.open(KEPT / "P02" / still_name(event)) as picture:
            still = np.asarray(picture, float)
        apart = [np.abs(frames[number + k] - still).mean() for k in (-1, 0, 1)]
        assert int(np.argmin(apart)) == 1, event


@pytest.mark.long
def test_made_twice_the_files_are_the_same(tmp_path: Path) -> None:
    first, second = (make_samples(tmp_path / name, SAMPLES[:1]) for name in ("a", "b"))
    assert len(first) == 6
    assert [p.read_bytes() for p in first] == [p.read_bytes() for p in second]


@pytest.mark.long
def test_a_clip_written_twice_is_the_same(tmp_path: Path) -> None:
    for name in ("a.mp4", "b.mp4"):
        write_clip(SAMPLES[0].scene(1.8), [0.0, 1 / 240], tmp_path / name)
    assert (tmp_path / "a.mp4").read_bytes() == (tmp_path / "b.mp4").read_bytes()


def test_a_folder_that_cannot_be_made_gets_a_plain_message(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "taken").write_text("a file, not a folder")
    with pytest.raises(CannotWrite, match="Choose a folder"):
        make_samples(tmp_path / "taken", SAMPLES[:1])
    assert main([str(tmp_path / "taken")]) == 1
    assert "Choose a folder" in capsys.readouterr().err


def test_without_a_folder_the_usage_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([]) == 2
    assert "FOLDER" in capsys.readouterr().err
