"""Coupons as written down: what is refused, and with which words."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from strategies import coupons

from advisor.coupons.coupon import Coupon, InterfaceResult
from advisor.errors import InputError
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.failure import FailureType
from advisor.weld.setting import Setting
from advisor.weld.sheet import Sheet
from advisor.weld.stack import Stack

NOW = datetime(2026, 3, 31, 14, 0, tzinfo=UTC)
COUPON = Coupon(
    made_at=NOW,
    welder="Kim",
    machine="gun 1",
    electrode=Electrode(CapShape.DOME, 6.0),
    stack=Stack((Sheet(1.2), Sheet(1.2), Sheet(0.8))),
    setting=Setting(8.0, 200.0, 2.5),
)


@pytest.mark.parametrize("reading", [(4.2, None), (None, 4.2)])
def test_one_diameter_alone_is_refused(reading):
    with pytest.raises(InputError, match="only one diameter was given; measure the smallest and"):
        InterfaceResult(*reading)


def test_no_fusion_with_a_diameter_is_refused():
    said = r"'no fusion' was chosen but a diameter of 4\.4 mm was given; clear the diameters"
    with pytest.raises(InputError, match=said):
        InterfaceResult(4.2, 4.4, FailureType.NO_FUSION)


def test_a_smallest_diameter_over_the_largest_is_refused():
    said = r"smallest diameter, 4\.6 mm, is larger than the largest, 4\.4 mm; swap them"
    with pytest.raises(InputError, match=said):
        InterfaceResult(4.6, 4.4)


@pytest.mark.parametrize(("typed", "in_mm"), [(0.17, "4.32"), (0.25, "6.35")])
def test_inches_typed_as_mm_are_recognised(typed, in_mm):
    said = rf"diameter is {typed} mm; .* that was inches it is {in_mm} mm: change the unit to in"
    with pytest.raises(InputError, match=said):
        InterfaceResult(typed, typed)


@pytest.mark.parametrize("typed", [0.0, -4.3])
def test_zero_is_no_way_to_say_that_nothing_was_there(typed):
    with pytest.raises(InputError, match="nothing to measure leave it empty and choose 'no fusi"):
        InterfaceResult(typed, typed)


@pytest.mark.parametrize("typed", [43.0, float("nan"), float("inf")])
def test_a_lost_decimal_point_is_pointed_out(typed):
    with pytest.raises(InputError, match=r"must be 0\.5 to 20 mm; check the decimal point"):
        InterfaceResult(typed, typed)


def test_size_is_the_mean_and_no_reading_is_no_size():
    assert InterfaceResult(4.0, 4.6).size_mm == pytest.approx(4.3)
    assert InterfaceResult().size_mm is None
    assert InterfaceResult(failure=FailureType.NO_FUSION).size_mm is None


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"made_at": datetime(2026, 3, 31)}, "time of a coupon needs its time zone"),
        ({"welder": " "}, "no welder is named; choose one"),
        ({"machine": ""}, "no machine is named; choose one"),
        (
            {"results": (InterfaceResult(4.2, 4.4),)},
            "a stack of 3 sheets has 2 interfaces; results were given for 1",
        ),
        ({"welds_since_dressing": -1}, "welds since dressing is -1; it must be 0 to 99,999"),
        ({"welds_since_dressing": 100_000}, "welds since dressing is 100000; it must be"),
    ],
)
def test_an_unusable_coupon_is_refused(change, said):
    with pytest.raises(InputError, match=said):
        replace(COUPON, **change)


def test_results_left_out_are_one_empty_result_an_interface():
    assert COUPON.results == (InterfaceResult(), InterfaceResult())


@pytest.mark.parametrize("ahead", [timedelta(minutes=6), timedelta(days=1), timedelta(days=365)])
def test_a_date_in_the_future_is_refused(ahead):
    later = replace(COUPON, made_at=NOW + ahead)
    with pytest.raises(InputError, match=r"is in the future \(now 2026-03-31 14:00\); correct"):
        later.check_time(NOW)


@pytest.mark.parametrize("ahead", [timedelta(minutes=-1), timedelta(0), timedelta(minutes=5)])
def test_clocks_may_differ_by_five_minutes(ahead):
    replace(COUPON, made_at=NOW + ahead).check_time(NOW)


def test_the_same_moment_in_another_zone_is_not_the_future():
    east = timezone(timedelta(hours=9))
    replace(COUPON, made_at=NOW.astimezone(east)).check_time(NOW)
    late = replace(COUPON, made_at=(NOW + timedelta(hours=1)).astimezone(east))
    with pytest.raises(InputError, match="dated 2026-03-31 15:00, which is in the future"):
        late.check_time(NOW)


@given(coupons())
def test_turned_over_twice_is_the_same_coupon(coupon):
    over = coupon.turned_over()
    assert over.turned_over() == coupon
    assert over.stack == coupon.stack.turned_over()
    assert over.results == coupon.results[::-1]
