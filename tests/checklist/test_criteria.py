"""Reading bands, items and a squad's own file: merged in part, dated, refused by name."""

from datetime import date

import pytest

from tapmark.checklist.criteria import HERE, load, read_edges
from tapmark.checklist.reading import Table
from tapmark.errors import CriteriaUnreadable
from tests.checklist.made import CRITERIA

OWN = """
format = 1

[rows.reach.sprint]
limit_high = 11
dated = 2026-04-01
reason = "Our spring group lands earlier."
"""


def squad(tmp_path, text):
    path = tmp_path / "checks.toml"
    path.write_text(text, "utf-8")
    return path


def test_squad_without_a_file_takes_the_packaged_bands(tmp_path):
    assert load(tmp_path / "checks.toml") == CRITERIA


def test_squad_band_replaces_what_it_names_and_nothing_else(tmp_path):
    own = load(squad(tmp_path, OWN))
    band = own.band("reach", "sprint")
    assert (band.fine_high, band.limit_high) == (7, 11)
    assert (band.dated, band.reason) == ("2026-04-01", "Our spring group lands earlier.")
    others = {key: band for key, band in own.bands.items() if key != ("reach", "sprint")}
    assert others.items() <= CRITERIA.bands.items()


def test_acceleration_and_bend_follow_the_sprint_band_of_the_squad(tmp_path):
    assert load(squad(tmp_path, OWN)).band("reach", "bend").limit_high == 11


def test_old_page_keeps_the_band_it_was_printed_with(tmp_path):
    path = squad(tmp_path, OWN)
    assert load(path, on=date(2026, 3, 31)).band("reach", "sprint").limit_high == 12
    assert load(path, on=date(2026, 4, 1)).band("reach", "sprint").limit_high == 11


def test_of_several_versions_the_newest_that_is_old_enough_counts(tmp_path):
    text = "format = 1\n[rows.reach]\nsprint = [\n"
    for limit, day in ((11, "2026-04-01"), (10, "2026-09-01")):
        text += f'  {{ limit_high = {limit}, dated = {day}, reason = "tried" }},\n'
    path = squad(tmp_path, text + "]\n")
    assert load(path).band("reach", "sprint").limit_high == 10
    assert load(path, on=date(2026, 8, 31)).band("reach", "sprint").limit_high == 11


def test_day_before_the_first_band_takes_the_first_band():
    assert load(on=date(2020, 1, 1)).bands == CRITERIA.bands


def test_squad_phrase_is_merged(tmp_path):
    text = (
        'format = 1\n[words]\ndated = 2026-04-01\nreason = "ours"\n[words.items.1]\ncue = "Quick"'
    )
    own = load(squad(tmp_path, text))
    assert own.words.leaves["items.1.cue"] == "Quick"
    assert own.words.leaves["items.1.young"] == CRITERIA.words.leaves["items.1.young"]
    assert own.bands == CRITERIA.bands


def test_squad_may_draw_its_own_chain(tmp_path):
    assert load(squad(tmp_path, "format = 1\nedges = [[8, 1]]")).edges == ((8, 1),)


BAND = "format = 1\n[rows.reach.sprint]\n"
SINCE = 'dated = 2026-04-01\nreason = "tried"\n'


@pytest.mark.parametrize(
    ("named", "text"),
    [
        ("format", "limit = 3"),
        ("format", "format = 2"),
        ("format", "format = 0"),
        ("format", 'format = "1"'),
        ("TOML", "format = 1\n[rows"),
        ("rows.reach.sprint.reason", BAND + "limit_high = 11\ndated = 2026-04-01"),
        ("rows.reach.sprint.dated", BAND + 'limit_high = 11\nreason = "x"'),
        ("rows.reach.sprint.dated", BAND + 'limit_high = 11\ndated = "april"\nreason = "x"'),
        ("rows.reach.sprint.limit_high", BAND + SINCE + 'limit_high = "11"'),
        ("rows.reach.sprint.limit_high", BAND + SINCE + "limit_high = nan"),
        ("rows.reach.sprint.limit_high", BAND + SINCE + "limit_high = true"),
        ("rows.reach.sprint.limit_high", BAND + SINCE + "limit_high = 5"),
        ("rows.reach.sprint.limit_high", BAND + SINCE + "limit_high = 7"),
        ("rows.reach.sprint.limit_hihg", BAND + SINCE + "limit_hihg = 11"),
        ("rows.reach.sprint.fine_low", BAND + SINCE + "fine_low = 1"),
        ("rows.reach.jog", "format = 1\n[rows.reach.jog]\n" + SINCE),
        ("rows.reech.sprint", "format = 1\n[rows.reech.sprint]\n" + SINCE),
        ("rows.reach", "format = 1\n[rows]\nreach = 3"),
        ("rowz", "format = 1\n[rowz]\n"),
        ("edges", "format = 1\nedges = [[1, 2], [2, 1]]"),
        ("edges", "format = 1\nedges = [[1, 19]]"),
        ("edges", "format = 1\nedges = [1, 2]"),
        ("words.dated", 'format = 1\n[words.items.1]\ncue = "x"'),
        ("words.items.1.kue", "format = 1\n[words]\n" + SINCE + '[words.items.1]\nkue = "x"'),
        ("words.why.kept", "format = 1\n[words]\n" + SINCE + '[words.why]\nkept = "stays"'),
        ("words.items.1.cue", "format = 1\n[words]\n" + SINCE + "[words.items.1]\ncue = 3"),
    ],
)
def test_squad_file_that_cannot_be_used_is_refused_with_file_and_key(tmp_path, named, text):
    with pytest.raises(CriteriaUnreadable, match=f"(?s)checks.toml.*{named}"):
        load(squad(tmp_path, text))


def test_file_that_is_no_text_is_refused(tmp_path):
    path = tmp_path / "checks.toml"
    path.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(CriteriaUnreadable, match=r"checks.toml.*UTF-8"):
        load(path)


def test_folder_in_place_of_a_file_is_refused(tmp_path):
    (tmp_path / "checks.toml").mkdir()
    with pytest.raises(CriteriaUnreadable, match=r"checks.toml"):
        load(tmp_path / "checks.toml")


def test_every_message_says_what_to_do():
    table = Table("checks.toml", "", {"edges": [[1, 2], [2, 1]]})
    with pytest.raises(CriteriaUnreadable, match=r"Break the loop\.$"):
        read_edges(table)


def test_data_files_lie_beside_the_code_so_that_they_ship_with_it():
    names = {path.name for path in HERE.rglob("*.toml")}
    assert {"checks.toml", "items.toml", "en.toml"} <= names


def test_ticks_are_those_that_items_and_strengths_ask_for():
    assert CRITERIA.ticks == (
        "foot turns late",
        "hand crosses",
        "shoulder line tilts",
        "shoulders turn",
        "foot path",
        "form holds",
    )
