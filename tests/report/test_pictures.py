"""Pictures for a phone: the face is gone from the pixels, and the file holds nothing else."""

import struct
import zlib
from dataclasses import replace
from io import BytesIO

import numpy as np
import pytest
from PIL import Image

from tapmark.errors import NoConsent
from tapmark.marks.points import TOUCHDOWN
from tapmark.marks.run import KeyFrame, Tap
from tapmark.report.pages.pictures import (
    Side,
    covered,
    face_disc,
    leg_px,
    marked,
    png_bytes,
    side_by_side,
    step_picture,
)
from tests.drawn_runner.athletes import OVERSTRIDES, RUNS_WELL
from tests.drawn_runner.camera import View
from tests.drawn_runner.drawn import centred, true_points
from tests.report.made import runs

SECRET = b"made by a phone at 51.5N"


def _frame():
    return runs("poor")[0].steps[0].key_frame(TOUCHDOWN)


def _still():
    """Noise, so that anything left of it would show, with everything a phone may hide in a file."""
    random = np.random.default_rng(5)
    picture = Image.fromarray(random.integers(60, 200, (720, 1280, 3), dtype=np.uint8))
    exif = picture.getexif()
    exif[270] = SECRET.decode()
    out = BytesIO()
    picture.save(out, "JPEG", exif=exif, comment=SECRET, quality=95)
    return Image.open(BytesIO(out.getvalue()))


def _chunks(png):
    at, names = 8, []
    while at < len(png):
        length, name = struct.unpack(">I4s", png[at : at + 8])
        names.append(name.decode())
        at += 12 + length
    return names


def test_the_file_holds_the_picture_and_nothing_else():
    still = _still()
    assert SECRET in still.info["comment"] or still.getexif()
    png = png_bytes(marked(still, _frame(), face_disc(_frame())))
    assert set(_chunks(png)) == {"IHDR", "IDAT", "IEND"}
    assert SECRET not in png
    raw = b"".join(_data(png))
    assert SECRET not in zlib.decompress(raw)
    assert Image.open(BytesIO(png)).info == {}


def _data(png):
    at = 8
    while at < len(png):
        length, name = struct.unpack(">I4s", png[at : at + 8])
        if name == b"IDAT":
            yield png[at + 8 : at + 8 + length]
        at += 12 + length


def test_under_the_disc_no_pixel_of_the_photo_is_left():
    disc = face_disc(_frame())
    pixels = np.asarray(covered(_still(), disc))
    rows, columns = np.mgrid[0:720, 0:1280]
    inside = np.hypot(columns - disc.centre[0], rows - disc.centre[1]) < disc.radius - 1
    assert inside.sum() > 3000
    assert len(np.unique(pixels[inside].reshape(-1, 3), axis=0)) == 1


@pytest.mark.parametrize("style", [OVERSTRIDES, RUNS_WELL])
@pytest.mark.parametrize("direction", [1, -1])
def test_the_disc_covers_the_whole_head_of_the_drawn_runner(style, direction):
    """The head of the practice room: its points are not used to place the disc.

    A head is 0.13 of height across (classic fraction, from memory); with the chin and hair a
    circle of 0.07 around its middle, which sits above the neck base.
    """
    view = centred(style, View(direction=direction))
    points = {name: tuple(map(float, xy)) for name, xy in true_points(style, 0.0, view).items()}
    taps = tuple(Tap(name, points[name]) for name in ("hip", "shoulder"))
    disc = face_disc(KeyFrame(TOUCHDOWN, 0, taps=taps))
    neck, hip = np.array(points["neck base"]), np.array(points["hip"])
    height = style.height_m * view.px_per_m
    up = (neck - hip) / np.linalg.norm(neck - hip)
    head = neck + 0.10 * height * up
    away = float(np.hypot(*(head - np.array(disc.centre))))
    assert disc.radius >= away + 0.07 * height


def test_a_neck_base_places_the_disc_likewise():
    taps = (Tap("hip", (100.0, 300.0)), Tap("neck base", (100.0, 300.0 - 0.306 * 500)))
    disc = face_disc(KeyFrame(TOUCHDOWN, 0, taps=taps))
    assert disc.centre == pytest.approx((100.0, 300.0 - 0.407 * 500))


@pytest.mark.parametrize("taken", ["hip", "shoulder"])
def test_a_face_that_cannot_be_found_closes_the_gate(taken):
    frame = _frame()
    bare = replace(frame, taps=tuple(t for t in frame.taps if t.point != taken))
    assert face_disc(bare) is None
    with pytest.raises(NoConsent, match="face cannot be covered"):
        marked(_still(), bare, face_disc(bare))


def test_the_original_picture_is_left_alone():
    still = _still().convert("RGB")
    before = still.tobytes()
    marked(still, _frame(), face_disc(_frame()))
    assert still.tobytes() == before


def test_the_step_line_as_a_picture_has_no_photo_and_the_asked_width():
    picture = step_picture(runs("poor")[0], 0, 1200)
    assert picture.width == 1200
    colours = {colour for _, colour in picture.getcolors(maxcolors=100_000)}
    assert all(max(c) - min(c) < 3 for c in colours), "ink, white and tint only"
    assert set(_chunks(png_bytes(picture))) == {"IHDR", "IDAT", "IEND"}


def test_two_runs_stand_side_by_side_hip_on_hip_and_leg_on_leg():
    from tests.drawn_runner.runs import drawn_run

    small = drawn_run(RUNS_WELL, View(px_per_m=180.0, direction=-1))
    large = drawn_run(RUNS_WELL, View(px_per_m=270.0))
    sides = []
    for run in (large, small):
        frame = run.steps[0].key_frame(TOUCHDOWN)
        still = Image.new("RGB", (1280, 720), "white")
        for point in ("hip", "near ankle"):
            x, y = frame.at(point)
            still.paste((255, 0, 0), (int(x) - 4, int(y) - 4, int(x) + 5, int(y) + 5))
        sides.append(Side(still, frame, run))
    picture = np.asarray(side_by_side(sides)).astype(int)
    width = (picture.shape[1] - 15) // 2
    spots = [_red_spots(picture[:, :width]), _red_spots(picture[:, -width:])]
    assert spots[0] == pytest.approx(spots[1], abs=9)


def _red_spots(half):
    """x and y of the hip (upper) and the ankle (lower) mark."""
    red = (half[..., 0] > 150) & (half[..., 1] < 110)
    rows, columns = np.nonzero(red)
    middle = (rows.min() + rows.max()) / 2
    upper, lower = rows < middle, rows >= middle
    return [columns[upper].mean(), rows[upper].mean(), columns[lower].mean(), rows[lower].mean()]


def test_a_run_without_a_leg_cannot_be_aligned():
    run = runs("poor")[0]
    bare = replace(run, steps=())
    assert leg_px(bare) is None
    with pytest.raises(NoConsent, match="cannot be aligned"):
        side_by_side([Side(_still(), _frame(), bare, "14 May")])
