"""What a window of calculated welds leaves between too small and expulsion."""

import pytest

from advisor.teaching.figures import Cell, Room, rooms

SIGNS = {"s": (False, False), "g": (True, False), "x": (True, True), "o": (False, True)}


def row(signs, weld_ms=100.0):
    """One weld a letter, 1 kA apart: small, good, expulsion, or expulsion while still small."""
    return [Cell(float(n), weld_ms, 4.0, *SIGNS[sign]) for n, sign in enumerate(signs, start=1)]


@pytest.mark.parametrize(
    ("signs", "lowest", "highest", "out"),
    [
        ("ssggxx", 3, 4, 5),
        ("ssgggg", 3, 6, None),  # the window goes on beyond what was tried
        ("gggxxx", 1, 3, 4),
        ("sssgxx", 4, 4, 5),  # a single current is a room too
        ("ssgsgg", 3, 3, None),  # what lies beyond a gap is not promised
    ],
)
def test_the_room_is_the_run_of_good_welds_below_expulsion(signs, lowest, highest, out):
    assert rooms(row(signs)) == [Room(100.0, lowest, highest, out)]


@pytest.mark.parametrize(("signs", "out"), [("ssssss", None), ("ssooxx", 3), ("xxxxxx", 1)])
def test_there_is_no_room_where_no_current_is_good(signs, out):
    assert rooms(row(signs)) == [Room(100.0, None, None, out)]


@pytest.mark.parametrize("signs", ["soggxx", "xxgggg"])
def test_a_good_weld_above_one_that_throws_metal_out_is_no_room(signs):
    (found,) = rooms(row(signs))
    assert found.lowest_kA is None
    assert found.out_kA < 3


def test_each_time_has_its_own_room_shortest_first_in_whatever_order_the_welds_came():
    cells = [*row("sgxx", 300.0), *row("ssgg", 100.0)]
    expected = [Room(100.0, 3, 4, None), Room(300.0, 2, 2, 3)]
    assert rooms(cells) == expected
    assert rooms(cells[::-1]) == expected
