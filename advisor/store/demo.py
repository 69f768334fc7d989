"""An invented shop to look round in: every name, machine, product and number here is made up.

About ten weeks of work: one machine drifts, one wears its caps and one is overdue for dressing,
one welder fails more than the rest, one gets the hard work, one release no longer stands. It serves
to fill pages, not to teach welding.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from typing import NamedTuple

from advisor.bonding.adhesive import Adhesive, Span
from advisor.coupons.coupon import Coupon
from advisor.coupons.foretold import Foretold
from advisor.coupons.joint import Joint, LoggedCoupon
from advisor.coupons.release import Release
from advisor.coupons.rules import ShopRules
from advisor.learning.model import MachineModel
from advisor.learning.sound import Outlook, as_row
from advisor.store.base import Trust
from advisor.store.demo_coupons import (
    CAPS,
    DRESSED,
    FAST,
    FENDER,
    FITTED,
    MACHINES,
    NORTH,
    PILLAR,
    QUARTER,
    SILL,
    SLOW,
    SOUTH,
    THREE,
    WELDERS,
    ZINC,
    demo_coupons,
    start_of_work,
)
from advisor.store.log import Log
from advisor.weld.stack import AdhesiveState, Bond

BY = "Demo"
_NOTE = "invented; times are common practice, no source"
_DRESS_AFTER_WELDS = 200
#: The shop uses the advisor since so many days; older coupons were copied from paper. [days]
_SINCE = 18
_VOIDED = "middle sheet was 1.0 mm, not 1.2 mm"
_LEARNS_EVERY = timedelta(days=2)
#: Machines whose coupons are foretold.
_FORETOLD = (NORTH.name, SOUTH.name)
_CURED_PILLAR = replace(PILLAR, bonds=(Bond(SLOW, AdhesiveState.CURED),))
_JOINTS = (
    Joint("Quarter panel, lower", "D-1013", QUARTER, NORTH.name, None, 18, 30.0),
    Joint("Centre pillar, upper", "D-1022", PILLAR, NORTH.name, None, 14, 30.0),
    Joint("Rear panel, three sheets", "D-1031", THREE, NORTH.name, None, 10, 40.0),
    Joint("Front fender, lower", "D-1036", FENDER, SOUTH.name, None, 12, 30.0),
    Joint("Sill flange, outer", "D-1041", SILL, NORTH.name, None, 24, 35.0),
    Joint("Centre pillar to sill, after cure", "D-1041", _CURED_PILLAR, NORTH.name, None, 16, 30.0),
    Joint("Quarter panel, wheel arch", "D-1038", QUARTER, NORTH.name, None, 30, 30.0),
    Joint("Rear sill, three sheets", "D-1035", THREE, NORTH.name, None, 12, 40.0),
    Joint("Floor seam", "D-1035", ZINC, SOUTH.name, None, 20, 25.0),
    # Last, so that a bonded joint whose test is missing is what a visitor meets first.
    Joint("Centre pillar to sill", "D-1041", PILLAR, NORTH.name, None, 16, 30.0),
)


def fill_demo(log: Log, now: datetime | None = None) -> None:
    """Fill an empty log with the invented shop.

    Parameters
    ----------
    log : Log
        An empty log; it is marked as a demo for good.
    now : datetime, optional
        Moment the shop is seen at; its records reach ten weeks back.
    """
    now = (now or datetime.now(UTC)).astimezone(UTC)
    log = log.used_by(Trust.OPERATOR)
    log.mark_demo(BY)
    _set_up(log, now)
    joints = {joint.job: log.save_joint(joint, BY) for joint in _JOINTS}
    begin = start_of_work(now, _SINCE)
    coupons = demo_coupons(now)
    older = [each for each in coupons if each.made_at < begin]
    log.import_coupons(older, BY, begin, origin="invented")
    newer = [each for each in coupons if each.made_at >= begin]
    released = _live(log, newer, _releases(now), joints)
    at = max(_monday(now), now - timedelta(hours=20))
    log.void_coupon(released["D-1031"].evidence[0].number, WELDERS["I"], _VOIDED, at)


def _set_up(log: Log, now: datetime) -> None:
    for name in WELDERS.values():
        log.add_welder(name, BY)
    log.save_rules(ShopRules(dress_after_welds=_DRESS_AFTER_WELDS), BY)
    for machine in MACHINES:
        log.save_machine(machine, BY)
        for days_ago in DRESSED[machine.name]:
            at = start_of_work(now, days_ago) - timedelta(hours=1)
            if days_ago in FITTED[machine.name]:
                log.fit_caps(machine.name, CAPS[machine.name], at, BY)
            else:
                log.dress(machine.name, at, BY)
    log.save_adhesive(Adhesive(SLOW, Span(40, 50), Span(90, 120), Span(1440, 1440), note=_NOTE), BY)
    log.save_adhesive(Adhesive(FAST, Span(5, 8), Span(20, 30), Span(240, 360), note=_NOTE), BY)


class _Planned(NamedTuple):
    """A release that will be given."""

    at: datetime
    job: str
    by: str


def _releases(now: datetime) -> list[_Planned]:
    """Return the releases of the week before last, of the last, and of this one."""
    monday = _monday(now)
    return [
        _Planned(monday - timedelta(days=9, hours=13), "D-1022", WELDERS["I"]),
        _Planned(monday - timedelta(days=2, hours=13), "D-1031", WELDERS["N"]),
        _Planned(max(monday, now - timedelta(hours=2)), "D-1036", WELDERS["T"]),
    ]


def _monday(now: datetime) -> datetime:
    """Return when the week of a moment began."""
    day = now.date()
    return datetime.combine(day - timedelta(days=day.weekday()), time(), UTC)


def _live(
    log: Log, coupons: list[Coupon], releases: list[_Planned], joints: Mapping[str, int]
) -> dict[str, Release]:
    """Write down coupons and releases in the order of their time; return releases by job."""
    advisor, planned, given = _Advisor(log), list(releases), {}

    def release_until(moment: datetime) -> None:
        while planned and planned[0].at <= moment:
            each = planned.pop(0)
            given[each.job] = log.release(joints[each.job], each.by, now=each.at)

    for coupon in coupons:
        release_until(coupon.made_at)
        foretold = advisor.foretell(coupon) if coupon.machine in _FORETOLD else None
        advisor.heard(log.add_coupon(coupon, coupon.welder, coupon.made_at, foretold))
    release_until(planned[-1].at)
    return given


class _Advisor:
    """What the advisor says of a coupon, from what it had learned by the morning at the latest.

    It learns every other morning only, to fill the log sooner.
    """

    def __init__(self, log: Log) -> None:
        self._rules = log.rules()
        self._known: dict[str, list[LoggedCoupon]] = {each.name: [] for each in MACHINES}
        for each in log.iter_coupons():
            self.heard(each)
        self._learned: date | None = None
        self._outlooks: dict[str, Outlook] = {}

    def heard(self, logged: LoggedCoupon) -> None:
        """Keep a coupon, to be learned from on a later morning."""
        self._known[logged.coupon.machine].append(logged)

    def foretell(self, coupon: Coupon) -> Foretold:
        """Say what is to be expected of a coupon; its result is not looked at."""
        day = coupon.made_at.date()
        if self._learned is None or day - self._learned >= _LEARNS_EVERY:
            self._learned, self._outlooks = day, dict(self._learn())
        outlook = self._outlooks[coupon.machine]
        found = outlook.chances(coupon.stack, coupon.electrode, as_row(coupon.setting))
        known = outlook.size.n_coupons
        return Foretold(float(found.sound[0]), float(found.expulsion[0]), known)

    def _learn(self) -> Iterator[tuple[str, Outlook]]:
        own = [MachineModel(self._rules).fit(each) for each in self._known.values()]
        for name in _FORETOLD:
            coupons = self._known[name]
            yield name, Outlook(MachineModel(self._rules).fit(coupons, own), coupons)
