"""Lines, angles, notes and paths over the pictures: drawn, moved, taken away, refused, undone."""

import pytest

from tapmark.errors import NothingToDraw, TapOutside
from tapmark.marks.edits import draw, follow, leave_path, redraw, rub_out
from tapmark.marks.history import History
from tapmark.marks.run import PATH_POINTS, FreeMark, Path, Place, Run, Source

EMPTY = Run(source=Source("clip", "a.mp4", (1280, 720), 100))
LINE = FreeMark("line", 12, ((600.0, 300.0), (640.0, 420.0)), "shin")
ANGLE = FreeMark("angle", 12, ((600.0, 300.0), (640.0, 420.0), (500.0, 380.0)))
NOTE = FreeMark("note", 13, ((700.0, 200.0),), "hand stays in front")


def test_marks_stand_in_the_order_in_which_they_were_drawn() -> None:
    run = draw(draw(draw(EMPTY, LINE), ANGLE), NOTE)

    assert run.free_marks == (LINE, ANGLE, NOTE)
    assert EMPTY.free_marks == ()


def test_an_end_is_moved_and_a_mark_taken_away_without_touching_the_others() -> None:
    run = draw(draw(EMPTY, LINE), NOTE)
    moved = FreeMark("line", 12, ((600.0, 300.0), (650.0, 430.0)), "shin")

    assert redraw(run, 0, moved).free_marks == (moved, NOTE)
    assert rub_out(run, 0).free_marks == (NOTE,)
    assert rub_out(run, 1).free_marks == (LINE,)


def test_undo_brings_back_what_was_there() -> None:
    history = History(EMPTY)
    drawn = draw(EMPTY, LINE)
    history.record("line", drawn)
    history.record("path", follow(drawn, "hip", Place(12, (600.0, 300.0))))

    assert history.undo() == drawn
    assert history.undo() == EMPTY
    assert history.redo() == drawn


@pytest.mark.parametrize(
    ("mark", "error", "words"),
    [
        (FreeMark("line", 1, ((5.0, 5.0), (5.0, 5.0))), NothingToDraw, "two ends of the line"),
        (
            FreeMark("angle", 1, ((5.0, 5.0), (9.0, 9.0), (5.0, 5.0))),
            NothingToDraw,
            "joint and the end of an arm of the angle lie on the same spot (5, 5)",
        ),
        (FreeMark("note", 1, ((5.0, 5.0),), "  "), NothingToDraw, "no words"),
        (FreeMark("line", 1, ((5.0, 5.0), (1281.0, 5.0))), TapOutside, "(1281, 5) lies outside"),
    ],
)
def test_what_cannot_be_read_later_is_refused_in_words(
    mark: FreeMark, error: type[Exception], words: str
) -> None:
    with pytest.raises(error) as told:
        draw(EMPTY, mark)

    assert words in str(told.value)
    with pytest.raises(error):
        redraw(draw(EMPTY, LINE), 0, mark)


def test_a_path_is_in_order_whichever_picture_was_tapped_first() -> None:
    run = EMPTY
    for picture in (20, 12, 16):
        run = follow(run, "near ankle", Place(picture, (10.0 * picture, 500.0), picture / 240))

    assert [place.picture for place in run.path("near ankle").places] == [12, 16, 20]
    assert run.path("near ankle").at(16) == (160.0, 500.0)
    assert run.path("near ankle").at(17) is None
    assert run.path("hip") == Path("hip", ())


def test_a_second_tap_in_a_picture_takes_the_place_of_the_first() -> None:
    run = follow(EMPTY, "hip", Place(12, (100.0, 500.0)))

    assert follow(run, "hip", Place(12, (110.0, 490.0))).path("hip").places == (
        Place(12, (110.0, 490.0)),
    )


def test_places_and_whole_paths_can_be_taken_away() -> None:
    run = EMPTY
    for point in ("near ankle", "hip"):
        for picture in (12, 16):
            run = follow(run, point, Place(picture, (400.0, 500.0)))

    assert [path.point for path in run.paths] == [p for p in PATH_POINTS if run.path(p).places]
    assert [each.picture for each in leave_path(run, "hip", 12).path("hip").places] == [16]
    assert leave_path(run, "hip").paths == (run.path("near ankle"),)
    assert leave_path(leave_path(run, "hip", 12), "hip", 16).paths == (run.path("near ankle"),)


def test_a_place_off_the_picture_is_refused() -> None:
    with pytest.raises(TapOutside, match="path of the near toe at"):
        follow(EMPTY, "near toe", Place(3, (-4.0, 10.0)))


def test_where_frames_are_missing_the_point_goes_on_by_the_clock() -> None:
    """By hand: 32 px in 40 ms, then 20 ms later, whatever the frames are called."""
    path = Path("hip", (Place(10, (100.0, 50.0), 0.40), Place(14, (132.0, 58.0), 0.44)))

    assert path.expected_px(15, 0.46) == pytest.approx((148.0, 62.0))
    assert path.expected_px(15) == (140.0, 60.0)
    untimed = Path("hip", (Place(10, (100.0, 50.0)), *path.places[1:]))
    assert untimed.expected_px(15, 0.46) == (140.0, 60.0)
    twins = Path("hip", (Place(10, (100.0, 50.0), 0.44), *path.places[1:]))
    assert twins.expected_px(15, 0.46) == (140.0, 60.0)  # a coarse clock: both at one time


def test_the_cross_hair_waits_where_the_point_goes_on_as_before() -> None:
    """Constant velocity by hand: 8 px and 2 px a picture."""
    path = Path("hip", (Place(10, (100.0, 50.0)), Place(14, (132.0, 58.0))))

    assert path.expected_px(18) == (164.0, 66.0)
    assert path.expected_px(16) == (148.0, 62.0)
    assert path.expected_px(14) == (100.0, 50.0)  # one place before it: it stays
    assert path.expected_px(10) is None
    assert Path("hip", ()).expected_px(3) is None
