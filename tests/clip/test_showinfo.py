"""The lines of ffmpeg's showinfo filter, as versions 4.2 to 9.0 print them."""

from fractions import Fraction

import pytest

from tapmark.clip.showinfo import Shown, Talk, parse_picture

NEW = (
    "[Parsed_showinfo_1 @ 0x7fb940001d00] n:   1 pts:   3000 pts_time:0.0333333 duration:   3000 "
    "duration_time:0.0333333 fmt:yuv420p cl:left sar:3/4 s:180x240 i:P iskey:0 type:B "
)
OLD = (
    "[Parsed_showinfo_0 @ 0x5592] n:   0 pts: 129600 pts_time:1.44    pos:      564 fmt:yuv420p "
    "sar:12/11 s:352x288 i:T iskey:1 type:I checksum:A3F0 plane_checksum:[6F 5D 9A] mean:[84 128]"
)


def test_a_picture_is_read_from_new_and_old_lines() -> None:
    assert Shown(3000, Fraction(3, 4), (180, 240), "P") == parse_picture(NEW)
    assert Shown(129600, Fraction(12, 11), (352, 288), "T") == parse_picture(OLD)


def test_pictures_without_stamp_or_pixel_shape_are_read_too() -> None:
    bare = NEW.replace("3000 pts_time", "NOPTS pts_time").replace("sar:3/4", "sar:0/1")

    assert Shown(None, Fraction(1), (180, 240), "P") == parse_picture(bare)
    assert parse_picture(NEW.replace("  3000 pts_time", " -3000 pts_time")) == Shown(
        -3000, Fraction(3, 4), (180, 240), "P"
    )


def test_a_files_own_notes_cannot_pass_for_pictures() -> None:
    """ffmpeg prints a file's notes indented; a forged note must not add a picture."""
    talk = Talk()

    assert talk.take("    comment         : " + NEW) is None
    assert talk.take("                    : " + NEW) is None
    assert talk.n_pictures == 0


@pytest.mark.parametrize(
    ("shown", "size"),
    [
        (Shown(0, Fraction(4, 3), (192, 144), "P"), (256, 144)),
        (Shown(0, Fraction(3, 4), (144, 192), "P"), (144, 256)),
        (Shown(0, Fraction(1), (7, 5), "P"), (7, 5)),
    ],
)
def test_square_pixels_stretch_and_never_shrink(shown: Shown, size: tuple[int, int]) -> None:
    assert size == shown.square_size_px


def test_tick_and_colours_are_kept_from_the_first_announcement() -> None:
    talk = Talk()
    talk.take("[Parsed_showinfo_0 @ 0x1] config in time_base: 1/90000, frame_rate: 30/1")
    talk.take(
        "[Parsed_showinfo_0 @ 0x1]   color_range:tv color_space:bt2020nc color_primaries:bt2020 "
        "color_trc:arib-std-b67"
    )

    assert (Fraction(1, 90_000), "bt2020nc", "arib-std-b67") == (
        talk.tick_s,
        talk.colour_space,
        talk.transfer,
    )


def test_damage_is_dated_by_the_pictures_before_it() -> None:
    talk = Talk()
    for line in (NEW, NEW, "[h264 @ 0x1] concealing 510 DC, 510 AC, 510 MV errors in P frame", NEW):
        talk.take(line)

    assert (talk.damaged_at, talk.is_cut) == (2, False)
    talk.take("[in#0/mov @ 0x1] stream 0, offset 0x31db: partial file")
    assert talk.is_cut


@pytest.mark.parametrize(
    "words",
    ["stream 0, offset 0x50f8: partial file", "File ended prematurely", "Input/output error"],
)
def test_a_message_of_another_thread_on_a_pictures_line_is_heard(words: str) -> None:
    """showinfo prints a line in two pieces, and a second thread may speak in between."""
    talk = Talk()

    assert talk.take(NEW + words) == parse_picture(NEW)
    assert talk.is_cut
