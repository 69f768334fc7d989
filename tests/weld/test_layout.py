"""New welds beside the old ones: worked by hand, in words, and every refusal."""

import numpy as np
import pytest
from layout_helpers import NEEDS, flange, new_places

from advisor.errors import InputError, NoAdviceError
from advisor.weld.layout import propose
from advisor.weld.layout_flange import Flange, Needs, OldSite, evenly, needs_for
from advisor.weld.layout_words import in_words, kept_to, remarks, why
from advisor.weld.sheet import Sheet, SteelFamily
from advisor.weld.stack import Stack

# --- worked by hand -----------------------------------------------------------------------------


def test_a_row_with_room_at_both_ends_moves_alike_by_the_smallest_clear_distance():
    # Sites at 20, 50, 80 of 110 mm; each new weld at least 7 mm from its site. Alike by +7: 27,
    # 57, 87 and 110 - 87 = 23 >= 6. By -7: 13, 43, 73. The same shift; the middle is 55, so +7
    # lies (28² + 2² + 32²) = 1812 and -7 lies (42² + 12² + 18²) = 2232 from it: +7.
    layout = propose(flange(20, 50, 80, length=110), NEEDS)
    assert new_places(layout) == pytest.approx([27, 57, 87])
    assert abs(layout.alike_mm) == pytest.approx(7)
    assert why(layout) == (
        "The whole row moves 7.0 mm towards higher positions and keeps its pitch; no layout on "
        "this line has a smaller largest shift."
    )
    assert remarks(layout) == ()


def test_a_row_that_fills_the_flange_closes_up_where_it_must():
    # Sites at 10, 50, 90 of 100 mm, edge 6. The first cannot go to 3, so 17; the last cannot go to
    # 97, so 83. The middle one goes 7 either way: 43 changes the pitches 40, 40 to 26, 40 and 57
    # to 40, 26: the same sum, and as far from the middle. One of the two.
    layout = propose(flange(10, 50, 90), NEEDS)
    assert new_places(layout) in ([17, 43, 83], [17, 57, 83])
    assert layout.alike_mm is None
    assert why(layout) == (
        "Each weld moves on its own, 7.0 mm at most: no single shift brings the whole row clear of "
        "every old site and edge."
    )
    (remark,) = remarks(layout)
    assert "26.0 mm instead of 40.0 mm" in remark


def test_one_large_site_moves_its_own_weld_further_and_no_other():
    # A ground-out site of 12 mm at 50 takes 6 + 3 + 1 = 10 mm, the others 7. Alike: 10.
    sites = (OldSite(20, 6), OldSite(50, 12), OldSite(80, 6))
    layout = propose(Flange(120, 12, 6, sites), NEEDS)
    assert new_places(layout) == pytest.approx([27, 60, 87])
    assert "the whole row moved alike would take some welds further than they need" in why(layout)
    assert remarks(layout) == (
        "The pitch changes, welds 1–2: 33.0 mm instead of 30.0 mm; 2–3: 27.0 mm instead of "
        "30.0 mm.",
    )


def test_two_welds_of_one_stretch_keep_the_spacing_between_them():
    # Sites at 40 and 60 with 13 mm spacing, flange cut off at 80: free 6-33, 47-53, 67-74. Down by
    # 7: 33 and 53, 20 apart. Up by 7: 47 and 67. Alike by 7, and the middle 40: down.
    layout = propose(flange(40, 60, length=80), NEEDS)
    assert new_places(layout) == pytest.approx([33, 53])


def test_a_pitch_below_the_published_one_is_kept_and_said():
    layout = propose(flange(30, 46, 62, length=110), Needs(6, 1, 6, 19))
    assert np.diff(new_places(layout)) == pytest.approx([16, 16])
    (remark,) = remarks(layout)
    assert remark.startswith(
        "The original pitch is 16.0 mm, below 19.0 mm, the smallest without shunt compensation "
        "(inch table, from memory), between welds 1–3: "
    )


def test_a_row_too_near_to_the_edge_moves_across():
    # Row 4 mm from the edge, 6 needed: 2 across, so along sqrt(7² - 2²) = 6.708.
    layout = propose(flange(50, row=4, width=30), NEEDS)
    assert layout.row_mm == 6
    assert layout.across_mm == 2
    assert layout.largest_shift_mm == pytest.approx(45**0.5)
    assert remarks(layout) == (
        "The row moves 2.0 mm across, from 4.0 mm to 6.0 mm from its edge: the old row is only "
        "4.0 mm from an edge and 6.0 mm is needed.",
    )


def test_a_row_without_room_on_its_line_moves_across_by_the_least_that_helps():
    # Pitch 13 < 2 · 7: no stretch is open on the line. sqrt(7² - dy²) <= 6.5 from dy = 2.598 on,
    # to the next 0.1: 2.6.
    layout = propose(flange(*range(10, 101, 13), length=120, width=40, row=10), NEEDS)
    assert layout.across_mm == pytest.approx(2.6)
    # 33 of 40 mm: only 1 mm is left towards the far edge, so the other way.
    back = propose(flange(*range(10, 101, 13), length=120, width=40, row=33), NEEDS)
    assert back.across_mm == pytest.approx(-2.6)
    assert "on its own line the old sites leave no room" in remarks(layout)[0]


def test_straight_across_needs_no_shift_along():
    # Only 6 mm is between the ends' edge distances, where the site lies: 7 across, none along.
    layout = propose(flange(8, length=16, width=40, row=10), Needs(6, 1, 8, 13))
    assert (layout.across_mm, layout.largest_shift_mm) == (pytest.approx(7), pytest.approx(0))
    assert why(layout) == "Each new weld stands straight across from its original: the pitch stays."


def test_an_original_nearer_to_the_end_than_allowed_is_said():
    (remark,) = remarks(propose(flange(3, 60), NEEDS))[-1:]
    assert remark.startswith("Original weld 1 is nearer to an end of the flange than 6.0 mm")
    remark = remarks(propose(flange(3, 60, 97), NEEDS))[-1]
    assert remark.startswith("Original welds 1, 3 are nearer to an end of the flange than 6.0 mm")


def test_a_single_weld_is_called_one():
    assert why(propose(flange(20), NEEDS)).startswith("The weld moves 7.0 mm towards higher")


def test_alike_is_named_where_it_goes_further():
    # Sites of 6, 20, 6 and 6 mm take 7, 14, 7 and 7 mm, so free are 6-23, 37-46, 74-103, 117 and
    # 131-174. One by one the second needs 14, the others 7. Alike the second needs 14 as well, but
    # -14 brings the last to 110 and +14 the third to 124, both taken; from -14 on the last is
    # clear only at 103, so -21: 9, 39, 89, 103. Upwards all are clear only once the first is past
    # 131, so +101, which is further.
    sites = (OldSite(30, 6), OldSite(60, 20), OldSite(110, 6), OldSite(124, 6))
    layout = propose(Flange(400, 12, 6, sites), NEEDS)
    assert layout.alike_mm == pytest.approx(-21)
    assert why(layout) == (
        "Each weld moves on its own, 14.0 mm at most: the whole row moved alike would have to go "
        "21.0 mm."
    )


def test_what_is_kept_to_and_drawn_is_said_in_the_asked_unit():
    layout = propose(flange(20, 50, 80, length=110), NEEDS)
    kept = " ".join(kept_to(layout, lambda length_mm: f"{length_mm / 25.4:.3f} in"))
    # 110 mm = 4.331 in, 12 mm = 0.472 in, 13 mm = 0.512 in
    assert "Flange 4.331 in by 0.472 in" in kept
    assert "without shunt compensation 0.512 in" in kept
    assert kept.count("common practice, no source") == 3
    assert in_words(layout) == (
        "Scaled drawing of the flange, 110.0 mm by 12.0 mm. Old sites, hollow with a cross: 20.0 "
        "mm, 50.0 mm, 80.0 mm. New welds, filled: 27.0 mm, 57.0 mm, 87.0 mm; row 6.0 mm from the "
        "edge."
    )


def test_table_has_one_row_a_weld_with_units_in_the_names():
    layout = propose(flange(20, 50, 80, length=110), NEEDS)
    table = layout.table()
    assert list(table.columns) == [
        "weld",
        "old_place_mm",
        "new_place_mm",
        "shift_mm",
        "old_row_mm",
        "new_row_mm",
        "old_site_mm",
    ]
    assert table["shift_mm"].tolist() == pytest.approx([7, 7, 7])
    assert (table["new_place_mm"] - table["old_place_mm"]).tolist() == table["shift_mm"].tolist()


# --- what is needed -----------------------------------------------------------------------------


def test_edge_and_spacing_come_from_the_inch_table():
    # 0.040 in: smallest overlap 0.5 in, spacing 0.75 in; three sheets 30 % more spacing.
    sheet = Sheet(0.040 * 25.4)
    two, three = Stack((sheet, sheet)), Stack((sheet, sheet, sheet))
    assert needs_for(two, 6).edge_mm == pytest.approx(6.35)
    assert needs_for(two, 6).spacing_mm == pytest.approx(19.05)
    assert needs_for(three, 6).spacing_mm == pytest.approx(1.3 * 19.05)
    assert needs_for(three, 6).edge_mm == pytest.approx(6.35)
    assert needs_for(two, 6).edge_basis.endswith("inch table, from memory")


def test_edge_goes_by_the_thinnest_outside_sheet_and_by_the_electrode():
    thin = needs_for(Stack((Sheet(0.8), Sheet(1.5))), 6)
    assert thin.edge_mm == needs_for(Stack((Sheet(0.8), Sheet(0.8))), 6).edge_mm
    wide = needs_for(Stack((Sheet(0.8), Sheet(0.8))), 16)
    assert wide.edge_mm == 8
    assert "its mark lies inside the edges" in wide.edge_basis


def test_other_steel_says_that_the_edge_has_no_source():
    needs = needs_for(Stack((Sheet(1, SteelFamily.DUAL_PHASE), Sheet(1))), 6)
    assert needs.edge_basis.endswith("for other steels common practice, no source")


def test_new_welds_never_touch_however_near_the_originals_were():
    assert NEEDS.apart_mm(40) == 13
    assert NEEDS.apart_mm(9) == 9
    assert NEEDS.apart_mm(4) == 6


# --- refusals -----------------------------------------------------------------------------------


def test_too_narrow():
    with pytest.raises(
        NoAdviceError, match=r"9\.9 mm wide and 12\.0 mm is needed .*: too narrow by 2\.1 mm"
    ):
        propose(flange(50, width=9.9, row=5), NEEDS)


def test_too_short():
    # 3 welds 13 apart and 6 to both ends: 38 mm.
    with pytest.raises(
        NoAdviceError, match=r"the 3 welds need 38\.0 mm .* too short by 2\.0 mm. Ask the vehicle"
    ):
        propose(flange(4, 18, 32, length=36), NEEDS)


def test_no_place_between_two_old_welds():
    # A site of 12 mm takes 6 + 3 + 1 = 10 mm: 20 needed between two, 18 there; 10 + 6 = 16 needed
    # to an end, 14 there.
    with pytest.raises(
        NoAdviceError,
        match=(
            r"only 0 of 2 new welds find a place clear of the old sites: no place from the first "
            r"end to old weld 1 14\.0 mm, 16\.0 needed \(2\.0 short\); between old welds 1 and 2 "
            r"18\.0 mm, 20\.0 needed \(2\.0 short\); from old weld 2 to the other end 14\.0 mm"
        ),
    ):
        propose(flange(14, 32, length=46, size=12), NEEDS)


def test_a_row_that_moving_across_does_not_help_says_how_far_it_was_moved():
    with pytest.raises(NoAdviceError, match=r"not even with the row moved 1\.5 mm across, as far"):
        propose(flange(14, 32, length=46, size=12, width=13.5), NEEDS)


def test_many_closed_stretches_are_counted():
    with pytest.raises(NoAdviceError, match=r"; and 4 more such stretches"):
        propose(flange(*range(10, 71, 12), length=80), NEEDS)


def test_open_stretches_that_are_too_near_to_each_other():
    # No clearance: a site of 4 mm takes 2 + 3 = 5 mm, one of 12 mm 6 + 3 = 9. Sites at 11, 25, 39
    # of 50: free are only 6, 16, 34 and 44. Three of them 14 apart, as the originals: there are
    # none, since 6-16 and 34-44 are 10 apart.
    sites = (OldSite(11, 4), OldSite(25, 12), OldSite(39, 4))
    with pytest.raises(NoAdviceError, match=r"only 2 of 3 .* nearer to each other than 14\.0 mm"):
        propose(Flange(50, 12, 6, sites), Needs(6, 0, 6, 20))


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: flange(50, length=3), r"length of the flange is 3 mm; it must be 5 to 10000 mm"),
        (lambda: flange(50, width=0.5), r"width of the flange is 0\.5 mm; it must be 2 to 500 mm"),
        (lambda: flange(50, row=12), r"the row is 12 mm from the edge of a flange 12 mm wide"),
        (lambda: flange(), r"0 original welds are given; it must be 1 to 200"),
        (lambda: flange(50, 101), r"original weld 2 is at 101 mm; the flange goes from 0 to 100"),
        (lambda: flange(50, 50.5), r"original welds 1 and 2 are at 50 and 50\.5 mm"),
        (lambda: flange(50, size=0), r"size of an old site is 0 mm; it must be 1 to 40 mm"),
        (lambda: evenly(0, 10, 40, 6), r"number of original welds is 0; it must be 1 to 200"),
        (lambda: evenly(3, 10, 4, 6), r"pitch of the original welds is 4 mm; it must be 5 to 500"),
        (lambda: Needs(2, 1, 6, 13), r"electrode face is 2 mm; it must be 3 to 16 mm"),
        (lambda: Needs(6, -1, 6, 13), r"clearance to an old site is -1 mm; it must be 0 to 20 mm"),
    ],
)
def test_what_cannot_be_is_refused_with_its_limits(make, words):
    with pytest.raises(InputError, match=words):
        make()


def test_sites_are_put_in_order_and_a_row_may_be_one_weld():
    assert [site.place_mm for site in flange(80, 20, 50).sites] == [20, 50, 80]
    assert evenly(1, 12, 0, 6) == (OldSite(12, 6),)
