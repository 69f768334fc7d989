"""Layouts against brute force: every rule kept, every refusal right, nothing better missed."""

from itertools import combinations_with_replacement

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from layout_helpers import NEEDS, broken, costs, new_places
from scipy.optimize import LinearConstraint, minimize

from advisor.errors import NoAdviceError
from advisor.weld.layout import propose
from advisor.weld.layout_flange import Flange, Needs, OldSite, line_at
from advisor.weld.layout_search import Line, best_row, free_intervals


@st.composite
def flanges(draw, most=4, wide=False):
    """Whole millimetres, small, often full."""
    length = draw(st.integers(20, 70))
    places = draw(st.lists(st.integers(1, length - 1), min_size=1, max_size=most, unique=True))
    sites = tuple(OldSite(place, draw(st.sampled_from((4, 6, 8, 12)))) for place in places)
    width = draw(st.integers(12, 30)) if wide else 12
    row = draw(st.integers(3, width - 3)) if wide else 6
    return Flange(length, width, row, sites)


needs_drawn = st.builds(
    Needs,
    weld_mm=st.sampled_from((4.0, 6.0)),
    clearance_mm=st.sampled_from((0.0, 1.0, 2.0)),
    edge_mm=st.sampled_from((4.0, 6.0)),
    spacing_mm=st.integers(8, 25).map(float),
)


def proposed(given_flange, needs):
    try:
        return propose(given_flange, needs)
    except NoAdviceError:
        return None


def on_a_grid(given_flange, needs, row_mm, step_mm):
    """Return the least (largest shift, sum of squares) of all layouts on a grid, None for none.

    With everything in whole mm and the row on its own line, a largest shift lies at a multiple of
    half a mm, so a grid of 0.5 mm holds it exactly.
    """
    length, across = given_flange.length_mm, row_mm - given_flange.row_mm
    grid = np.arange(0, length + step_mm / 2, step_mm)
    grid = grid[(grid >= needs.edge_mm) & (grid <= length - needs.edge_mm)]
    for site in given_flange.sites:
        away = site.size_mm / 2 + needs.weld_mm / 2 + needs.clearance_mm
        grid = grid[np.hypot(grid - site.place_mm, across) >= away - 1e-9]
    front = {None: [(0.0, 0.0)]}
    old = None
    for site in given_flange.sites:
        least = 0 if old is None else max(min(needs.spacing_mm, site.place_mm - old), needs.weld_mm)
        old = site.place_mm
        reached = {}
        for place in grid:
            shift = abs(place - site.place_mm)
            ways = {
                (max(most, shift), total + shift**2)
                for before, paths in front.items()
                if before is None or place - before >= least - 1e-9
                for most, total in paths
            }
            if ways:
                reached[place] = undominated(ways)
        front = reached
    return min((min(paths) for paths in front.values()), default=None)


def undominated(ways):
    kept = []
    for way in sorted(ways):
        if not kept or way[1] < kept[-1][1]:
            kept.append(way)
    return kept


@given(flanges(wide=True), needs_drawn)
def test_every_proposal_keeps_every_rule_and_every_refusal_is_right(given_flange, needs):
    layout = proposed(given_flange, needs)
    if layout is not None:
        assert broken(layout) == []
        return
    low, high = needs.edge_mm, given_flange.width_mm - needs.edge_mm
    for row in np.linspace(low, high, 5) if high >= low else ():
        assert on_a_grid(given_flange, needs, row, 0.5) is None


@given(flanges(), needs_drawn)
def test_largest_shift_is_that_of_brute_force_and_squares_are_no_worse(given_flange, needs):
    # 12 mm wide with 6 mm edge: the row cannot leave its line.
    assume(needs.edge_mm == 6)
    best = on_a_grid(given_flange, needs, 6.0, 0.5)
    layout = proposed(given_flange, needs)
    assert (layout is None) == (best is None)
    if layout is not None:
        largest, squares, _, _ = costs(layout)
        assert largest == pytest.approx(best[0], abs=1e-5)
        assert squares <= best[1] + 0.01


@pytest.mark.parametrize(
    ("places", "sizes", "length"),
    [
        ((10, 24, 40), (6, 12, 6), 80.0),
        ((12, 26, 33, 52), (6, 6, 12, 6), 90.3),
        ((20.3, 33.1, 47.7, 60.2), (4, 4, 4, 4), 92.0),
        ((8, 15.5, 21, 30), (4, 4, 4, 8), 95.0),
    ],
)
def test_squares_are_those_of_a_solver_tried_on_every_choice_of_stretches(places, sizes, length):
    # For each choice of a free stretch a weld, the least squares between bounds by SciPy's general
    # solver: another method than the search over runs.
    sites = tuple(OldSite(*each) for each in zip(places, sizes, strict=True))
    given_flange = Flange(length, 12, 6, sites)
    layout = propose(given_flange, NEEDS)
    line, largest = line_at(given_flange, NEEDS, 6.0), costs(layout)[0]
    rows = np.diff(np.eye(len(places)), axis=0)
    found = []
    for choice in combinations_with_replacement(range(len(line.free_mm)), len(places)):
        low = np.maximum(line.free_mm[list(choice), 0], line.old_mm - largest - 1e-7)
        high = np.minimum(line.free_mm[list(choice), 1], line.old_mm + largest + 1e-7)
        if (low > high).any():
            continue
        solved = minimize(
            lambda x: ((x - line.old_mm) ** 2).sum(),
            (low + high) / 2,
            bounds=list(zip(low, high, strict=True)),
            constraints=LinearConstraint(rows, line.apart_mm, np.inf),
            method="SLSQP",
        )
        if solved.success and (np.diff(solved.x) >= line.apart_mm - 1e-6).all():
            found.append(solved.fun)
    assert costs(layout)[1] == pytest.approx(min(found), abs=0.01)


def test_welds_that_push_each_other_share_the_shift():
    # Nothing is taken; 6 mm apart asked of originals that were nearer. 40, 44, 46 to t, t + 6,
    # t + 12: the ends need at least (46 - 12 - 40) / 2 = -3, so t = 37 and 3 is the largest shift.
    # 80, 84, 87 want t = 80, 78 and 75: least squares at their mean 77.667, 2.667 at most.
    line = Line(
        np.array([40.0, 44, 46, 80, 84, 87]), np.array([[0.0, 120]]), np.array([6.0, 6, 13, 6, 6])
    )
    first, second = 37, (80 + 78 + 75) / 3
    expected = [first, first + 6, first + 12, second, second + 6, second + 12]
    assert best_row(line, 60) == pytest.approx(expected, abs=1e-5)


@given(flanges(), needs_drawn)
def test_the_flange_turned_round_gives_the_mirrored_layout(given_flange, needs):
    length = given_flange.length_mm
    turned = Flange(
        length,
        given_flange.width_mm,
        given_flange.row_mm,
        tuple(OldSite(length - site.place_mm, site.size_mm) for site in given_flange.sites),
    )
    one, other = proposed(given_flange, needs), proposed(turned, needs)
    assert (one is None) == (other is None)
    if one is None or other is None:
        return
    # Where two layouts are equally good either may come out, so what is compared is what counts.
    assert costs(one) == pytest.approx(costs(other), abs=0.01)


def test_a_layout_without_a_tie_is_mirrored_place_by_place():
    sites = ((20, 6), (47, 12), (80, 6))
    one = propose(Flange(120, 12, 6, tuple(OldSite(*each) for each in sites)), NEEDS)
    other = propose(Flange(120, 12, 6, tuple(OldSite(120 - p, s) for p, s in sites)), NEEDS)
    assert [120 - place for place in reversed(new_places(other))] == pytest.approx(new_places(one))


@given(flanges(wide=True), needs_drawn)
def test_the_row_leaves_its_line_only_as_far_as_it_must(given_flange, needs):
    layout = proposed(given_flange, needs)
    assume(layout is not None and abs(layout.across_mm) > 0.3)
    nearer = layout.row_mm - np.sign(layout.across_mm) * 0.2
    inside = needs.edge_mm <= nearer <= given_flange.width_mm - needs.edge_mm
    if inside:
        assert on_a_grid(given_flange, needs, nearer, 0.5) is None


@given(st.lists(st.tuples(st.integers(0, 40), st.integers(1, 12)), max_size=6), st.integers(0, 44))
def test_free_intervals_are_what_no_taken_interval_holds(taken, twice):
    point = 2 + twice / 2
    free = free_intervals(2, 24, [(a, a + b) for a, b in taken])
    held = any(a < point < a + b for a, b in taken)
    assert any(low <= point <= high for low, high in free) == (not held and point <= 24)
    assert (np.diff(free.ravel()) >= 0).all()
