"""The invented shop: marked, deterministic, and with a joint in every state."""

from datetime import UTC, datetime

import pytest

from advisor.coupons.coverage import BONDED_MISSING, CoverState, assess
from advisor.store.demo import fill_demo
from advisor.store.log import open_log
from advisor.weld.stack import AdhesiveState

NOW = datetime(2026, 6, 3, 9, 30, tzinfo=UTC)


@pytest.fixture
def demo(url):
    log = open_log(url)
    fill_demo(log, NOW)
    yield log
    log.close()


def test_it_is_marked_and_has_what_was_promised(demo):
    assert demo.is_demo
    assert len(demo.machines()) == 2
    assert len(demo.welders()) == 4
    assert 55 <= len(list(demo.iter_coupons())) <= 70
    assert all("invented" in adhesive.note for adhesive in demo.adhesives())


def test_a_real_log_is_not_marked(log):
    assert not log.is_demo


def test_pass_rates_are_plausible(demo):
    counts = demo.pass_counts("welder")
    rates = counts["passed"] / (counts["passed"] + counts["failed"])
    assert rates.between(0.6, 1.0).all()
    assert rates.nunique() > 2


def test_joints_show_covered_missing_and_expired(demo):
    found = {}
    for stored in demo.joints():
        joint = stored.joint
        found[joint.name] = assess(
            joint,
            demo.bench(joint.machine),
            demo.coupons_for_joint(joint, NOW),
            demo.rules().coverage,
            NOW,
        )
    assert {c.state for c in found.values()} >= {
        CoverState.COVERED,
        CoverState.MISSING,
        CoverState.EXPIRED,
    }
    cured = [
        found[s.joint.name]
        for s in demo.joints()
        if s.joint.stack.adhesive_state is AdhesiveState.CURED
    ]
    assert cured
    assert all(c.headline == BONDED_MISSING and c.setting is None for c in cured)


def test_it_is_the_same_shop_every_time(url, demo):
    again = open_log(url, shop_name="Again")
    fill_demo(again, NOW)
    assert [c.coupon for c in again.iter_coupons()] == [c.coupon for c in demo.iter_coupons()]
    again.close()
