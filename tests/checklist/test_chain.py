"""The chain: edges typed twice (common practice, no source), no loops, ways around fine items."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapmark.checklist.assess import rows_of
from tapmark.checklist.chain import (
    are_related,
    downstream,
    edges_in_use,
    height,
    loop_in,
    starts_with,
    upstream,
)
from tapmark.checklist.verdict import (
    CANT_TELL,
    FINE,
    NEAR_THE_LINE,
    NOT_MEASURED,
    SEEN,
    ItemVerdict,
)
from tests.checklist.made import CRITERIA, items, results

EDGES = CRITERIA.edges

# Common practice, no source: 8 leads to 7, 6, 1, 9, 11 and 14, and so on. Typed twice, so this
# notices a slip in items.toml and proves no cause.
TYPED_IN = {
    8: {7, 6, 1, 9, 11, 14},
    7: {5, 6},
    5: {4, 16},
    9: {4, 6},
    10: {1, 12},
    4: {3, 13},
    3: {1},
    12: {1},
    1: {2},
    2: {11},
    16: {17},
    17: {15, 18},
    6: {13, 14},
}


def with_words(words):
    """Return 18 items that are fine, except for those named."""
    return tuple(ItemVerdict(n, str(n), words.get(n, FINE)) for n in range(1, 19))


def test_edges_are_those_that_were_typed_twice():
    assert {(a, b) for a, ends in TYPED_IN.items() for b in ends} == set(EDGES)


def test_chain_has_no_loop():
    assert loop_in(EDGES) is None


def test_loop_is_found():
    assert loop_in((*EDGES, (11, 8))) is not None


def test_main_line_runs_from_the_long_push_to_sinking():
    assert {4, 3, 1, 2, 11, 13, 16, 17, 15, 18} == downstream(EDGES, 5)
    assert {8, 7, 9, 5, 4, 3, 10, 12} == upstream(EDGES, 1)


def test_height_is_the_longest_way_to_an_end():
    assert tuple(height(EDGES, n) for n in (11, 2, 1, 3)) == (0, 1, 2, 3)
    assert height(EDGES, 8) == 7  # 8, 7, 5, 4, 3, 1, 2, 11


def test_fine_item_between_breaks_the_path():
    broken = with_words({5: SEEN, 1: SEEN, 3: SEEN})  # 4 is fine, and the only way is over 4
    whole = with_words({5: SEEN, 1: SEEN, 3: SEEN, 4: CANT_TELL})
    assert not are_related(EDGES, 5, 1, broken)
    assert are_related(EDGES, 5, 1, whole)
    assert are_related(EDGES, 1, 5, whole)


def test_starts_with_names_what_was_told_upstream_earliest_first():
    told = with_words({1: SEEN, 3: NEAR_THE_LINE, 4: SEEN, 5: NOT_MEASURED, 7: NEAR_THE_LINE})
    assert starts_with(EDGES, 1, told) == (7, 4, 3)


@pytest.mark.parametrize(("turned", "behind"), [(True, -5), (False, 25), (False, 10)])
def test_knees_apart_ahead_of_the_hip_follows_from_the_reach(turned, behind):
    made = results({"reach": 20, "knee_separation": 47, "separation_behind": behind})
    edges, is_driven = edges_in_use(EDGES, items(made), rows_of((made,), CRITERIA))
    assert turned is is_driven
    assert turned == ((1, 3) in edges) == ((3, 1) not in edges)
    assert loop_in(edges) is None
    assert len(edges) == len(EDGES)


def test_without_reach_nothing_is_turned():
    made = results({"reach": 3, "knee_separation": 47, "separation_behind": -5})
    assert edges_in_use(EDGES, items(made), rows_of((made,), CRITERIA)) == (EDGES, False)


@given(st.lists(st.tuples(st.integers(1, 8), st.integers(1, 8)), max_size=16))
def test_a_loop_is_found_exactly_when_an_item_reaches_itself(pairs):
    edges = tuple(pairs)
    # sorting out ends first (Kahn 1962) leaves something over exactly when there is a loop
    left = set(edges)
    while ends := {edge for edge in left if not any(a == edge[1] for a, _ in left)}:
        left -= ends
    assert bool(left) == (loop_in(edges) is not None)


@given(st.dictionaries(st.integers(1, 18), st.sampled_from([SEEN, NEAR_THE_LINE, FINE])))
def test_related_is_symmetric_and_never_joins_an_item_to_a_fine_detour(words):
    told = with_words(words)
    for one in range(1, 19):
        for other in range(1, 19):
            here = are_related(EDGES, one, other, told)
            assert here == are_related(EDGES, other, one, told)


def test_item_words_do_not_change_the_edges_given():
    told = tuple(replace(each, word=SEEN) for each in with_words({}))
    assert set(starts_with(EDGES, 11, told)) == upstream(EDGES, 11)
