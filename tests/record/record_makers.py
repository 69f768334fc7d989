"""What the tests of the record share: an invented job with a joint in every state."""

import io
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

from pypdf import PdfReader

from advisor.bonding.adhesive import Adhesive, Span
from advisor.bonding.clock import Reading
from advisor.bonding.preparation import Answer, Checked, findings
from advisor.coupons.coupon import Coupon, InterfaceResult
from advisor.coupons.coverage import assess
from advisor.coupons.joint import Bench, Joint, LoggedCoupon
from advisor.coupons.recommendation import MakerRecommendation
from advisor.coupons.release import release_joint, reopened
from advisor.coupons.rules import ShopRules
from advisor.coupons.verdict import judge
from advisor.record.entries import ClockRun, CouponEntry, JointEntry
from advisor.record.job_record import Printing, make_record
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.failure import FailureType
from advisor.weld.machine import Machine
from advisor.weld.setting import Setting
from advisor.weld.sheet import Sheet, SteelFamily, Surface
from advisor.weld.stack import AdhesiveState, Bond, Stack

NOW = datetime(2026, 6, 3, 14, 30, tzinfo=timezone(timedelta(hours=2)))
RULES = ShopRules()
CAPS = Electrode(CapShape.DOME, 6.0)
BENCH = Bench("gun 1", CAPS, fitted_at=NOW - timedelta(days=60))
EPOXY = Adhesive("Demo epoxy A", Span(40, 50), Span(90, 120), Span(1440, 1440), note="sheet p. 2")
GROUND = Surface.GROUND_BARE
PAIR = (
    Sheet(1.2, SteelFamily.HIGH_STRENGTH, Surface.HOT_DIP_ZINC, GROUND, "grade 340"),
    Sheet(1.0, SteelFamily.LOW_CARBON, GROUND, Surface.BARE),
)
WET, CURED = (
    Stack(PAIR, (Bond(EPOXY.name, state),)) for state in (AdhesiveState.WET, AdhesiveState.CURED)
)
THREE = Stack((Sheet(0.8), Sheet(1.2), Sheet(1.0)), (Bond(EPOXY.name, AdhesiveState.WET), Bond()))
SETTING = Setting(9.4, 180.0, 2.5, 310.0, 210.0, 2, 40.0, 3.1, 25.0)
MAKER = MakerRecommendation(
    "gun 1", CURED, "Manual of the machine", "41", "12 kA, 10 cycles", "Lee", NOW
)


def coupon(number, minutes=0, **change):
    """Return a coupon of the wet pair that passes, unless something is changed."""
    fields = {
        "made_at": datetime(2026, 6, 3, 8, 0, tzinfo=UTC) + timedelta(minutes=minutes),
        "welder": "Kim",
        "machine": "gun 1",
        "electrode": CAPS,
        "stack": WET,
        "setting": SETTING,
        "results": (InterfaceResult(4.3, 4.7, FailureType.BUTTON),),
        "job": "RO 7",
        "welds_since_dressing": 34,
        "notes": "sheet 2 slightly bent",
    }
    made = Coupon(**(fields | change))
    return LoggedCoupon(number, made, judge(made, RULES.judging))


GOOD = (coupon(11), coupon(12, 5))
SMALL = coupon(
    13,
    10,
    stack=THREE,
    results=(
        InterfaceResult(2.1, 2.9, FailureType.INTERFACE_WITH_BUTTON),
        InterfaceResult(failure=FailureType.NO_FUSION),
    ),
    expulsion=True,
)


def entry(logged, **change):
    return CouponEntry(logged, "Lee", NOW - timedelta(hours=1), **change)


def joint_entry(name, stack, coupons, *, released=False, voided=None, **more):
    """Return a joint assessed by the domain; released before a coupon was voided, if one is."""
    joint = Joint(name, "RO 7", stack, "gun 1", None, 16, 30.0)
    coverage = assess(joint, BENCH, coupons, RULES.coverage, NOW)
    if not released:
        return JointEntry(joint, coverage, **more)
    release = release_joint(coverage, "Robin", NOW - timedelta(minutes=20), "fit-up seen")
    after = [replace(c, voided=voided) if voided else c for c in coupons]
    coverage = assess(joint, BENCH, after, RULES.coverage, NOW)
    why = reopened(release, {c.number: c for c in after}, coverage)
    return JointEntry(joint, coverage, release, why, **more)


def checks():
    return findings(
        (
            Checked("dust_off", Answer.DONE, None, "Lee", NOW),
            Checked("edge_bevel", Answer.DONE, 12.0, "Lee", NOW),
        )
    )


def record(joints=None, coupons=None, *, is_demo=False, rules=RULES, **printing):
    """Return the record of the invented job."""
    if joints is None:
        joints = (
            joint_entry("sill flange", WET, GOOD, released=True, checks=checks()),
            joint_entry("pillar, cured", CURED, GOOD, maker=MAKER),
            joint_entry("rear sill", THREE, (SMALL,)),
        )
    if coupons is None:
        coupons = [entry(each) for each in (*GOOD, SMALL)]
    names = {"shop": "Test shop", "place": "Testford", "job": "RO 7", "at": NOW, "by": "Robin"}
    return make_record(
        Printing(**(names | printing), is_demo=is_demo),
        joints,
        coupons,
        rules,
        machines=(Machine("gun 1", 13.0, 5.0), Machine("gun 2", 9.0, 3.0)),
        adhesives=(EPOXY, replace(EPOXY, name="another")),
        clocks=(
            ClockRun(
                EPOXY,
                "sill",
                NOW - timedelta(minutes=15),
                (Reading(NOW - timedelta(minutes=15), 21.0),),
            ),
        ),
    )


def pages(pdf):
    """Return the text of each page as read back, line ends as spaces."""
    return [" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(pdf)).pages]
