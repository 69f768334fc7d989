"""The lead's look at evidence: releases, voided coupons, joints that wait, caps to dress."""

from dataclasses import replace
from datetime import timedelta

import pytest
from store_examples import BY, FAILING, NOW, PASSING

from advisor.coupons.coverage import CoverState
from advisor.coupons.joint import Joint
from advisor.coupons.rules import CoverageRules, ShopRules
from advisor.store import auditing
from advisor.store.auditing import Caps, expiring
from advisor.weld.stack import AdhesiveState, Bond, Stack

DAY, HOUR = timedelta(days=1), timedelta(hours=1)
MADE = NOW - 5 * DAY
SILL = Joint("sill", "RO 1", PASSING.stack, "gun 1")
GOOD = replace(PASSING, made_at=MADE, job="RO 1")
WET = Stack(PASSING.stack.sheets, (Bond("Demo epoxy A", AdhesiveState.WET),))


@pytest.fixture
def shop(log):
    """A log with caps on both machines, two coupons of gun 1 that pass, and a joint for them."""
    for gun in ("gun 1", "gun 2"):
        log.fit_caps(gun, PASSING.electrode, NOW - 40 * DAY, BY)
    for _ in range(2):
        log.add_coupon(GOOD, "Kim", NOW)
    log.sill = log.save_joint(SILL, BY)
    return log


def releases(log, since=MADE, until=NOW):
    return log.releases_between(since, until, NOW)


# --- releases -----------------------------------------------------------------------------------


def test_a_release_that_stands(shop):
    given = shop.release(shop.sill, BY, "by eye", NOW - HOUR)
    (found,) = releases(shop)
    assert (found.joint_id, found.joint, found.release) == (shop.sill, SILL, given)
    assert (found.reopened, found.followed_by, found.stands) == ((), "", True)


def test_a_period_begins_with_its_first_moment_and_ends_before_its_last(shop):
    at = NOW - HOUR
    shop.release(shop.sill, BY, "", at)
    assert len(releases(shop, at, at + HOUR)) == 1
    assert releases(shop, at - HOUR, at) == []
    assert releases(shop, at + timedelta(microseconds=1), NOW) == []


def test_a_release_that_a_void_opened_again(shop):
    shop.release(shop.sill, BY, "", NOW - HOUR)
    shop.void_coupon(1, BY, "wrong sheet", NOW)
    (found,) = releases(shop)
    assert found.reopened == ("coupon #1 was voided: wrong sheet",)
    assert not found.stands


def test_a_release_that_was_followed_by_a_newer_one(shop):
    first = shop.release(shop.sill, BY, "", NOW - 2 * HOUR)
    shop.void_coupon(1, BY, "wrong sheet", NOW - HOUR)
    shop.add_coupon(GOOD, "Kim", NOW)
    second = shop.release(shop.sill, BY, "again", NOW - HOUR / 2)
    new, old = releases(shop)
    assert (new.release, new.stands) == (second, True)
    assert (old.release, old.followed_by) == (first, "Lead, 2026-12-31")
    assert (old.reopened, old.stands) == ((), False)


def test_the_newer_one_may_lie_behind_the_period(shop):
    shop.release(shop.sill, BY, "", NOW - 2 * HOUR)
    shop.release(shop.sill, BY, "again", NOW - HOUR)
    (found,) = releases(shop, MADE, NOW - HOUR)
    assert found.followed_by
    assert not found.stands


def test_of_two_releases_at_one_moment_the_last_written_stands(shop):
    shop.release(shop.sill, BY, "once", NOW - HOUR)
    shop.release(shop.sill, BY, "twice", NOW - HOUR)
    assert [(each.release.note, each.stands) for each in releases(shop)] == [
        ("twice", True),
        ("once", False),
    ]


def test_releases_come_newest_first_and_not_without_end(shop, monkeypatch):
    monkeypatch.setattr(auditing, "MOST_RELEASES", 2)
    numbers = [shop.sill, *(shop.save_joint(replace(SILL, name=n), BY) for n in ("roof", "rail"))]
    for n, number in enumerate(numbers):
        shop.release(number, BY, "", NOW - 3 * HOUR + n * HOUR)
    assert [each.joint.name for each in releases(shop)] == ["rail", "roof"]


# --- voided coupons -----------------------------------------------------------------------------


def voided(log, since=MADE, until=NOW + DAY):
    return [(v.number, v.at, v.by, v.why, v.releases) for v in log.voided_between(since, until)]


def test_a_voided_coupon_names_the_joints_that_were_released_on_it(shop):
    roof = shop.save_joint(replace(SILL, name="roof"), BY)
    shop.save_joint(replace(SILL, name="rail"), BY)
    for number in (shop.sill, roof):
        shop.release(number, BY, "", NOW - HOUR)
    shop.add_coupon(replace(GOOD, job="RO 7"), "Kim", NOW)
    shop.void_coupon(1, BY, "wrong sheet", NOW)
    shop.void_coupon(3, BY, "twice", NOW + HOUR)
    newest, first = voided(shop)
    assert newest == (3, NOW + HOUR, BY, "twice", ())
    assert first[:4] == (1, NOW, BY, "wrong sheet")
    assert sorted(first[4]) == ["RO 1 · roof", "RO 1 · sill"]


def test_a_release_that_was_given_anew_stands_no_longer_on_the_voided_coupon(shop):
    shop.release(shop.sill, BY, "", NOW - 2 * HOUR)
    shop.void_coupon(1, BY, "wrong sheet", NOW - HOUR)
    shop.add_coupon(GOOD, "Kim", NOW)
    shop.release(shop.sill, BY, "again", NOW - HOUR / 2)
    assert [each[4] for each in voided(shop)] == [()]


def test_a_voided_coupon_is_of_the_period_in_which_it_was_voided(shop):
    shop.void_coupon(1, BY, "wrong sheet", NOW)
    assert voided(shop, MADE, NOW) == []
    assert len(voided(shop, NOW, NOW + HOUR)) == 1
    assert voided(shop, NOW + HOUR, NOW + DAY) == []


# --- waiting joints -----------------------------------------------------------------------------


def test_a_covered_joint_ends_when_the_oldest_coupon_it_needs_is_too_old(shop):
    shop.save_rules(ShopRules(coverage=CoverageRules(unbonded_days=20, bonded_days=7)), BY)
    shop.add_coupon(replace(GOOD, made_at=MADE + DAY), "Kim", NOW)
    (found,) = shop.waiting(NOW)
    assert found.coverage.state is CoverState.COVERED
    # Three pass, two are wanted: the second newest decides.
    assert found.ends_at == MADE + 20 * DAY
    just_before, just_behind = (found.ends_at + n * timedelta(seconds=1) for n in (-1, 1))
    assert _state(shop, just_before) is CoverState.COVERED
    assert _state(shop, just_behind) is CoverState.MISSING  # one of the three is left


def _state(log, now):
    return log.waiting(now)[0].coverage.state


def test_a_bonded_joint_has_days_of_its_own(shop):
    shop.save_rules(ShopRules(coverage=CoverageRules(unbonded_days=20, bonded_days=7)), BY)
    shop.save_joint(Joint("flange", "RO 1", WET, "gun 1"), BY)
    for _ in range(2):
        shop.add_coupon(replace(GOOD, stack=WET), "Kim", NOW)
    sill, flange = shop.waiting(NOW)
    assert flange.stored.joint.name == "flange"
    assert (sill.ends_at, flange.ends_at) == (MADE + 20 * DAY, MADE + 7 * DAY)
    assert [shop.waiting(MADE + 7 * DAY + n * HOUR)[1].coverage.state for n in (-1, 1)] == [
        CoverState.COVERED,
        CoverState.EXPIRED,
    ]


def test_a_joint_without_coverage_has_no_end_and_one_of_a_closed_job_waits_no_more(shop):
    shop.save_joint(Joint("roof", "RO 2", PASSING.stack, "gun 2"), BY)
    assert [each.ends_at for each in shop.waiting(NOW)] == [MADE + 30 * DAY, None]
    shop.close_job("RO 1", BY)
    assert [each.stored.joint.name for each in shop.waiting(NOW)] == ["roof"]


def test_only_the_newest_joints_are_looked_at(shop, monkeypatch):
    monkeypatch.setattr(auditing, "MOST_JOINTS", 2)
    for name in ("roof", "rail"):
        shop.save_joint(replace(SILL, name=name), BY)
    assert [each.stored.joint.name for each in shop.waiting(NOW)] == ["roof", "rail"]


def test_what_ends_soon_is_told_unless_it_is_released(shop):
    roof = shop.save_joint(replace(SILL, name="roof"), BY)
    shop.release(roof, BY, "", NOW - HOUR)
    end = MADE + 30 * DAY
    for now, names in ((end - 3 * DAY - HOUR, []), (end - 3 * DAY, ["sill"]), (end, ["sill"])):
        found = expiring(shop.waiting(now), now)
        assert [each.stored.joint.name for each in found] == names
    assert [each.is_released for each in shop.waiting(NOW)] == [False, True]


# --- caps ---------------------------------------------------------------------------------------


def caps(log):
    return log.caps()[0]


def test_caps_nobody_spoke_of(log):
    assert log.caps() == [Caps(gun, None, None, counted=False) for gun in ("gun 1", "gun 2")]


def test_coupons_alone_are_counted_where_none_gives_a_count(shop):
    fitted = NOW - 40 * DAY
    shop.add_coupon(replace(GOOD, made_at=fitted - HOUR), "Kim", NOW)
    assert caps(shop) == Caps("gun 1", 2, fitted, counted=False)
    shop.void_coupon(1, BY, "wrong sheet", NOW)
    assert caps(shop).welds == 2
    shop.dress("gun 1", MADE + HOUR, "Kim")
    assert caps(shop) == Caps("gun 1", 0, MADE + HOUR, counted=False)
    assert shop.caps()[1] == Caps("gun 2", 0, fitted, counted=False)


def test_the_newest_count_of_a_coupon_and_the_coupons_since(shop):
    def weld(hours, count=None):
        at = MADE + hours * HOUR
        shop.add_coupon(replace(GOOD, made_at=at, welds_since_dressing=count), "Kim", NOW)

    weld(1, 80)
    assert caps(shop) == Caps("gun 1", 80, NOW - 40 * DAY, counted=True)
    weld(3)
    weld(2)
    assert caps(shop).welds == 82
    weld(4, 90)
    assert caps(shop).welds == 90
    shop.dress("gun 1", MADE + 5 * HOUR, "Kim")
    assert caps(shop) == Caps("gun 1", 0, MADE + 5 * HOUR, counted=False)
    weld(6, 0)
    assert caps(shop) == Caps("gun 1", 0, MADE + 5 * HOUR, counted=True)


def test_a_repair_or_a_settling_leaves_the_caps(shop):
    shop.repair("gun 1", MADE, "Kim", "cable")
    shop.settle("gun 1", MADE, BY, "new cable")
    assert caps(shop).since == NOW - 40 * DAY


def test_a_failing_coupon_wears_the_caps_too(shop):
    shop.add_coupon(replace(FAILING, made_at=MADE + HOUR), "Kim", NOW)
    assert caps(shop).welds == 3
