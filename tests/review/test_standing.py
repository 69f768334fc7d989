"""What a rate says about the target, in which order, and what the words show."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.errors import InputError
from advisor.review.intervals import pass_rate
from advisor.review.standing import LEAST_JUDGED, Standing, coupons_needed, read_groups

SHOP = [
    ("Alex", 88, 2, 1),
    ("Bo", 60, 30, 0),
    ("Chris", 19, 1, 0),
    ("Dana", 1, 0, 0),
    ("Eli", 0, 1, 0),
    ("Fran", 0, 0, 3),
    ("Gil", 150, 2, 0),
    ("Hao", 40, 40, 0),
]


def counts(rows):
    return pd.DataFrame(rows, columns=["name", "passed", "failed", "open"])


def names(rows, **how):
    return [reading.name for reading in read_groups(counts(rows), **how)]


rows_of_a_shop = st.lists(
    st.tuples(st.integers(0, 60), st.integers(0, 30), st.integers(0, 3)), min_size=1, max_size=8
).map(lambda shop: [(f"welder {i}", *row) for i, row in enumerate(shop)])


def test_order_is_below_worst_first_then_unsure_most_judged_first_then_above():
    assert names(SHOP) == ["Hao", "Bo", "Chris", "Dana", "Eli", "Fran", "Alex", "Gil"]
    standings = [reading.standing for reading in read_groups(counts(SHOP))]
    assert standings == [Standing.BELOW] * 2 + [Standing.UNSURE] * 4 + [Standing.ABOVE] * 2


@given(rows_of_a_shop, st.sampled_from([(1, 0), (0, 1)]), st.booleans())
def test_one_coupon_never_places_anybody_and_never_stands_before_more_coupons(shop, one, pool):
    readings = read_groups(counts([*shop, ("single", *one, 0)]), pool=pool)
    place = [reading.name for reading in readings].index("single")
    assert readings[place].standing is Standing.UNSURE
    unsure = [r.raw.judged for r in readings if r.standing is Standing.UNSURE]
    assert unsure == sorted(unsure, reverse=True)
    order = [list(Standing).index(reading.standing) for reading in readings]
    assert order == sorted(order)


@given(rows_of_a_shop)
def test_pooling_can_only_take_a_verdict_back(shop):
    pooled = {r.name: r.standing for r in read_groups(counts(shop))}
    alone = {r.name: r.standing for r in read_groups(counts(shop), pool=False)}
    for name, standing in pooled.items():
        assert standing in (Standing.UNSURE, alone[name])


@given(rows_of_a_shop, st.floats(0.5, 0.99))
def test_a_verdict_has_both_intervals_behind_it(shop, target):
    for reading in read_groups(counts(shop), target):
        rates = (reading.raw, reading.pooled)
        if reading.standing is Standing.BELOW:
            assert all(rate.high < target for rate in rates)
        if reading.standing is Standing.ABOVE:
            assert all(rate.low >= target for rate in rates)


def test_a_new_welder_among_very_good_ones_is_not_praised_for_them():
    shop = [(f"welder {i}", 300, 1, 0) for i in range(6)]
    *_, new = sorted(read_groups(counts([*shop, ("new", 4, 0, 0)])), key=lambda r: r.name == "new")
    assert new.pooled.low > 0.9
    assert new.standing is Standing.UNSURE


def test_the_unlucky_one_of_many_equal_welders_is_not_blamed():
    # Thirty who all pass 90 %: their own intervals alone call some below the target.
    rng = np.random.default_rng(4)
    blamed = {True: 0, False: 0}
    for _ in range(20):
        passed = rng.binomial(40, 0.9, 30)
        shop = counts([(f"welder {i}", p, 40 - p, 0) for i, p in enumerate(passed)])
        for pool in blamed:
            readings = read_groups(shop, pool=pool)
            blamed[pool] += sum(reading.standing is Standing.BELOW for reading in readings)
    print(f"of 600 equal welders called below: own interval {blamed[False]}, both {blamed[True]}")
    assert blamed[False] >= 10
    assert blamed[True] <= blamed[False] / 5


def test_a_really_worse_welder_is_found():
    shop = [(f"welder {i}", 37, 3, 0) for i in range(8)]
    first, *others = read_groups(counts([*shop, ("worse", 22, 18, 0)]))
    assert (first.name, first.standing) == ("worse", Standing.BELOW)
    assert Standing.BELOW not in {reading.standing for reading in others}


def test_without_pooling_each_speaks_for_itself_and_few_coupons_do_not_lead():
    periods = [("May", 0, 5, 0), ("June", 20, 80, 0), ("July", 3, 2, 0), ("August", 40, 0, 0)]
    readings = read_groups(counts(periods), pool=False)
    assert all(reading.pooled is None for reading in readings)
    assert [reading.name for reading in readings] == ["June", "May", "July", "August"]
    assert readings[-1].standing is Standing.ABOVE


def test_one_more_coupon_makes_the_fewest_that_can_place_a_group():
    few = ("few", 0, LEAST_JUDGED - 1, 0)
    enough = ("enough", 0, LEAST_JUDGED, 0)
    standings = {r.name: r.standing for r in read_groups(counts([few, enough]), pool=False)}
    assert standings == {"few": Standing.UNSURE, "enough": Standing.BELOW}


def test_the_method_is_passed_on():
    (exact,) = read_groups(counts([("Bo", 15, 5, 0)]), method="exact", level=0.9)
    assert exact.raw == pass_rate(15, 20, "exact", 0.9)


def test_words_give_both_rates_and_the_standing():
    readings = {r.name: r.words() for r in read_groups(counts(SHOP))}
    assert readings["Bo"].endswith("; raw 60 of 90, 67 % (56 to 76 %); below target 90 %")
    assert readings["Bo"].startswith("pooled 6")
    assert readings["Fran"].endswith(
        "; nothing judged yet; too few to say about target 90 %; 3 not yet judged"
    )
    assert "at or above target 90 %" in readings["Gil"]
    (alone,) = read_groups(counts([("May", 15, 5, 0)]), pool=False)
    assert alone.words() == ("raw 15 of 20, 75 % (95 % interval 53 to 89 %); below target 90 %")


def test_words_do_not_round_an_end_onto_the_target():
    (alone,) = read_groups(counts([("May", 84, 16, 0)]), pool=False)
    assert 0.895 < alone.raw.high < 0.9
    assert "to 89." in alone.words()
    assert alone.standing is Standing.BELOW


@pytest.mark.parametrize("method", ["wilson", "exact", "jeffreys"])
@pytest.mark.parametrize(("passed", "judged"), [(0, 0), (5, 5), (15, 20), (30, 40)])
def test_coupons_needed_is_the_fewest(passed, judged, method):
    more = coupons_needed(passed, judged, 0.9, method)
    assert pass_rate(passed + more, judged + more, method).low >= 0.9
    assert pass_rate(passed + more - 1, judged + more - 1, method).low < 0.9


def test_coupons_needed_by_the_closed_form_of_no_fails():
    # Wilson with no fails: n / (n + z²) ≥ 0.9; exact: 0.025^(1/n) ≥ 0.9.
    assert coupons_needed(0, 0) == int(np.ceil(9 * 1.959964**2))
    assert coupons_needed(0, 0, method="exact") == int(np.ceil(np.log(0.025) / np.log(0.9)))
    assert coupons_needed(40, 40) == 0
    assert coupons_needed(2, 2, target=0.1) == LEAST_JUDGED - 2


@pytest.mark.parametrize("target", [0, 1, 90])
def test_a_target_that_no_coupons_can_show_is_refused(target):
    with pytest.raises(InputError, match="must be above 0 % and below 100 %"):
        read_groups(counts(SHOP), target)
    with pytest.raises(InputError, match="must be above 0 % and below 100 %"):
        coupons_needed(5, 5, target)


def test_nobody_is_read_from_an_empty_table():
    assert read_groups(counts([])) == []


def test_a_standing_is_read_from_its_code():
    assert Standing.of("below") is Standing.BELOW
    with pytest.raises(InputError, match="standing is 'best'; it must be one of: below target"):
        Standing.parse("best")
