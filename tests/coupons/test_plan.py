"""The coupon plan: the fewest kinds that speak for every open joint, and enough coupons of each."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import combinations, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.coupons.coupon import Coupon
from advisor.coupons.coverage import CoverState, assess
from advisor.coupons.joint import Bench, Joint, LoggedCoupon
from advisor.coupons.matching import Condition, compare
from advisor.coupons.plan import CouponKind, Plan, plan_coupons
from advisor.coupons.rules import CoverageRules
from advisor.coupons.verdict import Outcome, Verdict
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.setting import Setting
from advisor.weld.sheet import Sheet, SteelFamily, Surface
from advisor.weld.stack import UNBONDED, AdhesiveState, Bond, Stack

NOW = datetime(2026, 3, 31, 14, 0, tzinfo=UTC)
RULES = CoverageRules()
CAPS = Electrode(CapShape.DOME, 6.0)
MACHINES = ("gun 1", "gun 2")
BENCHES = {name: Bench(name, CAPS) for name in MACHINES}
SETTING, OTHER_SETTING = Setting(7.0, 180.0, 2.4), Setting(9.0, 200.0, 2.6)
WET, PART, CURED = (
    Bond("Demo epoxy A", state)
    for state in (AdhesiveState.WET, AdhesiveState.PART_CURED, AdhesiveState.CURED)
)
PASS = Verdict(Outcome.PASS, ())


def stack(*thicknesses_mm: float, bond: Bond = UNBONDED, **faces: object) -> Stack:
    sheets = tuple(Sheet(t, **faces) for t in thicknesses_mm)
    return Stack(sheets, (bond,) * (len(sheets) - 1))


def joint(laid: Stack, name: str = "seam", machine: str = "gun 1", **more: object) -> Joint:
    return Joint(name, "RO 1", laid, machine, **more)


def coupon(
    laid: Stack,
    number: int = 1,
    setting: Setting = SETTING,
    machine: str = "gun 1",
    hours_ago: float = 1.0,
) -> LoggedCoupon:
    made_at = NOW - timedelta(hours=hours_ago)
    return LoggedCoupon(
        number, Coupon(made_at, "Kim", machine, CAPS, laid, setting, job="RO 1"), PASS
    )


def plan(
    joints: Sequence[Joint],
    log: Sequence[LoggedCoupon] = (),
    rules: CoverageRules = RULES,
    benches: dict[str, Bench] = BENCHES,
) -> Plan:
    asked = [(j, assess(j, benches[j.machine], log, rules, NOW)) for j in joints]
    return plan_coupons(asked, benches, rules, NOW)


def thicknesses(found: Plan) -> list[tuple[float, ...]]:
    return sorted(kind.stack.thicknesses_mm for kind in found.kinds)


def weld(kind: CouponKind, count: int) -> list[LoggedCoupon]:
    """Weld so many of a kind now; at the setting of those that count already, if there are any."""
    setting = kind.continues[0].coupon.setting if kind.continues else Setting(8.4, 150.0, 3.0)
    return [coupon(kind.stack, 900 + n, setting, kind.machine, 0.0) for n in range(count)]


# --- the least set ------------------------------------------------------------------------------


@st.composite
def jobs(draw: st.DrawFn) -> list[Joint]:
    """Draw a job of up to seven joints that are near each other in every respect."""
    thickness = st.integers(20, 25).map(lambda n: 4 * n / 100)
    face = st.sampled_from((Surface.GROUND_BARE, Surface.HOT_DIP_ZINC))
    family = st.sampled_from((SteelFamily.LOW_CARBON, SteelFamily.DUAL_PHASE))
    # Mostly one family and face, so that tolerance decides; sometimes all differ.
    plain = st.builds(Sheet, thickness)
    sheet = plain if draw(st.booleans()) else st.builds(Sheet, thickness, family, face, face)
    bond = st.sampled_from((UNBONDED, WET, CURED) if draw(st.booleans()) else (UNBONDED,))
    found = []
    for n in range(draw(st.integers(1, 7))):
        sheets = tuple(draw(st.lists(sheet, min_size=2, max_size=3)))
        laid = Stack(sheets, tuple(draw(bond) for _ in sheets[1:]))
        found.append(joint(laid, f"seam {n}", draw(st.sampled_from(MACHINES))))
    return found


def speaks(one: Joint, other: Joint, tolerance_mm: float) -> bool:
    """Say, without the project's rules, whether a coupon of one joint's stack serves another."""

    def as_laid(laid: Stack) -> bool:
        pairs = list(zip(laid.sheets, other.stack.sheets, strict=False))
        return (
            len(laid.sheets) == len(other.stack.sheets)
            and all(
                round(abs(a.thickness_mm - b.thickness_mm), 6) <= tolerance_mm
                and (a.family, a.upper, a.lower) == (b.family, b.upper, b.lower)
                for a, b in pairs
            )
            and laid.bonds == other.stack.bonds
        )

    over = Stack(
        tuple(Sheet(s.thickness_mm, s.family, s.lower, s.upper) for s in one.stack.sheets[::-1]),
        one.stack.bonds[::-1],
    )
    return one.machine == other.machine and (as_laid(one.stack) or as_laid(over))


def fewest(joints: Sequence[Joint], tolerance_mm: float) -> int:
    """Try every set of the joints' own stacks, small sets first."""
    for size in range(1, len(joints) + 1):
        for chosen in combinations(joints, size):
            if all(any(speaks(kind, j, tolerance_mm) for kind in chosen) for j in joints):
                return size
    raise AssertionError("every joint speaks for itself")


@given(jobs(), st.sampled_from((0.0, 0.04, 0.05)))
def test_no_smaller_set_exists(joints, tolerance_mm):
    rules = replace(RULES, thickness_tolerance_mm=tolerance_mm)
    assert len(plan(joints, rules=rules).kinds) == fewest(joints, tolerance_mm)


@given(jobs())
def test_each_open_joint_is_in_one_kind_that_speaks_for_it(joints):
    found = plan(joints)
    served = [j.name for kind in found.kinds for j in kind.joints]
    assert sorted(served) == sorted(j.name for j in joints)
    for kind in found.kinds:
        (one,) = weld(kind, 1)
        for j in kind.joints:
            assert compare(j, BENCHES[j.machine], one, RULES, NOW) == ()


@pytest.mark.parametrize(
    ("sheets_mm", "kinds"),
    [
        ((0.80, 0.84, 0.88), [0.84]),
        ((0.80, 0.88), [0.80, 0.88]),
        ((0.80, 0.84), [0.80]),
        ((0.80, 0.84, 0.84), [0.84]),
        ((0.80, 0.84, 0.88, 0.92, 0.96, 1.00), [0.84, 0.96]),
        ((0.80, 0.85), [0.80]),
        ((0.80, 0.86), [0.80, 0.86]),
    ],
)
def test_chains_of_thickness(sheets_mm, kinds):
    found = plan([joint(stack(t, t), f"seam {t}") for t in sheets_mm])
    assert thicknesses(found) == [(t, t) for t in kinds]


def test_the_stack_of_a_covered_joint_can_serve_two_others():
    joints = [joint(stack(t, t), f"seam {t}") for t in (0.80, 0.84, 0.88)]
    found = plan(joints, [coupon(stack(0.79, 0.89))], replace(RULES, passes_in_a_row=1))
    assert [j.name for j in found.covered] == ["seam 0.84"]
    (kind,) = found.kinds
    assert kind.stack.thicknesses_mm == (0.84, 0.84)
    assert [j.name for j in kind.joints] == ["seam 0.8", "seam 0.88"]


def test_a_joint_between_two_kinds_goes_to_that_of_its_own_stack():
    sheets_mm = (0.84, 0.84, 0.88, 0.88, 0.80, 0.92)
    found = plan([joint(stack(t, t), f"seam {t}") for t in sheets_mm])
    names = {k.stack.thicknesses_mm[0]: {j.name for j in k.joints} for k in found.kinds}
    assert names == {0.84: {"seam 0.84", "seam 0.8"}, 0.88: {"seam 0.88", "seam 0.92"}}


def test_a_hundred_joints_in_two_long_chains():
    steps = [round(0.60 + 0.04 * n, 2) for n in range(50)]
    joints = [joint(stack(t, t), f"{m} {t}", m) for t in steps for m in MACHINES]
    assert all(0.03 < b - a < 0.05 for a, b in pairwise(steps))
    found = plan(joints)
    # A sheet speaks for its two neighbours and itself: fifty need seventeen, on each machine.
    assert len(found.kinds) == 2 * 17
    assert found.coupons == 2 * 2 * 17
    assert sum(len(kind.joints) for kind in found.kinds) == 100


def test_a_stack_turned_over_is_the_same_kind():
    top = Sheet(1.2, upper=Surface.HOT_DIP_ZINC, lower=Surface.GROUND_BARE)
    laid = Stack((top, Sheet(0.8, SteelFamily.HIGH_STRENGTH), Sheet(1.0)), (WET, UNBONDED))
    found = plan([joint(laid, "left"), joint(laid.turned_over(), "right")])
    (kind,) = found.kinds
    assert kind.stack == laid
    assert [j.name for j in kind.joints] == ["left", "right"]
    assert kind.coupons == 2


@pytest.mark.parametrize(
    "other",
    [
        joint(stack(1.2, 1.0, bond=CURED)),
        joint(stack(1.2, 1.0, bond=PART)),
        joint(stack(1.2, 1.0)),
        joint(stack(1.2, 1.0, bond=Bond("Demo epoxy B", AdhesiveState.WET))),
        joint(stack(1.2, 1.0, bond=WET, lower=Surface.GROUND_BARE)),
        joint(stack(1.2, 1.0, bond=WET, family=SteelFamily.STAINLESS)),
        joint(stack(1.2, 1.0, 1.0, bond=WET)),
        joint(stack(1.2, 1.0, bond=WET), machine="gun 2"),
    ],
)
def test_what_one_coupon_cannot_serve_is_never_merged(other):
    found = plan([joint(stack(1.2, 1.0, bond=WET)), replace(other, name="other")])
    assert [len(kind.joints) for kind in found.kinds] == [1, 1]


def test_what_has_to_wait_comes_first():
    joints = [joint(stack(1.0, 1.0, bond=b), str(b)) for b in (UNBONDED, WET, CURED, PART)]
    states = [kind.state.value for kind in plan(joints).kinds]
    assert states == ["cured", "part_cured", "wet", "none"]


def test_planned_settings_that_differ_need_a_kind_each():
    laid = stack(1.0, 1.0)
    one, two = joint(laid, "one", setting=SETTING), joint(laid, "two", setting=OTHER_SETTING)
    assert len(plan([one, two]).kinds) == 2
    assert len(plan([one, joint(laid, "any")]).kinds) == 1
    # A coupon at another setting than the planned one is no start.
    (kind,) = plan([one], [coupon(laid, 1, OTHER_SETTING)]).kinds
    assert (kind.coupons, kind.continues) == (2, ())


# --- how many of each ---------------------------------------------------------------------------

LOGS = st.lists(
    st.tuples(
        st.sampled_from((0.80, 0.82, 0.84, 0.86, 0.88)),
        st.sampled_from((SETTING, OTHER_SETTING)),
        st.integers(1, 5),
    ),
    max_size=5,
)


@given(LOGS, st.integers(1, 4))
def test_the_coupons_of_the_plan_cover_every_joint_and_one_fewer_does_not(welded, wanted):
    rules = replace(RULES, passes_in_a_row=wanted)
    joints = [joint(stack(t, 1.0), f"seam {t}") for t in (0.80, 0.84, 0.88)]
    log = [coupon(stack(t, 1.0), n, s, hours_ago=h) for n, (t, s, h) in enumerate(welded)]
    found = plan(joints, log, rules)
    for kind in found.kinds:
        state = [
            {assess(j, BENCHES["gun 1"], [*log, *weld(kind, n)], rules, NOW).state for j in joints}
            for n in (kind.coupons, kind.coupons - 1)
        ]
        assert state[0] == {CoverState.COVERED}
        assert state[1] != {CoverState.COVERED}


@pytest.mark.parametrize(("passed", "left"), [(0, 3), (1, 2), (2, 1)])
def test_passing_coupons_in_a_row_reduce_the_count(passed, left):
    laid = stack(1.0, 1.0, bond=WET)
    log = [coupon(laid, n + 1) for n in range(passed)]
    (kind,) = plan([joint(laid)], log, replace(RULES, passes_in_a_row=3)).kinds
    assert kind.coupons == left
    assert sorted(c.number for c in kind.continues) == list(range(1, passed + 1))


def test_nothing_is_left_when_all_is_covered():
    laid = stack(1.0, 1.0)
    found = plan([joint(laid)], [coupon(laid, 1), coupon(laid, 2)])
    assert (found.kinds, found.blocked, found.coupons, found.cuts) == ((), (), 0, {})
    assert [j.name for j in found.covered] == ["seam"]


def test_no_joints_need_no_coupons():
    assert plan([]) == Plan(())


def test_a_pass_that_counts_for_one_joint_only_is_not_counted_for_the_kind():
    joints = [joint(stack(t, 1.0), f"seam {t}") for t in (0.80, 0.84)]
    (kind,) = plan(joints, [coupon(stack(0.76, 1.0))]).kinds
    assert (kind.coupons, kind.continues) == (2, ())
    (kind,) = plan(joints, [coupon(stack(0.82, 1.0))]).kinds
    assert (kind.coupons, [c.number for c in kind.continues]) == (1, [1])


def test_passes_at_two_settings_do_not_add_up():
    joints = [joint(stack(t, 1.0), f"seam {t}") for t in (0.80, 0.84)]
    log = [coupon(stack(0.76, 1.0), 1, SETTING), coupon(stack(0.88, 1.0), 2, OTHER_SETTING)]
    (kind,) = plan(joints, log).kinds
    assert (kind.coupons, kind.continues) == (2, ())


# --- what cannot be covered, and what is cut ----------------------------------------------------


def test_a_joint_on_a_machine_without_known_caps_is_named_with_the_reason():
    benches = {"gun 1": BENCHES["gun 1"], "gun 2": Bench("gun 2")}
    laid = stack(1.0, 1.0)
    found = plan([joint(laid), joint(laid, "far", "gun 2")], benches=benches)
    assert [[j.name for j in kind.joints] for kind in found.kinds] == [["seam"]]
    ((stuck, reasons),) = found.blocked
    assert stuck.name == "far"
    assert [each.condition for each in reasons] == [Condition.ELECTRODE]


def test_the_caps_of_a_kind_are_those_fitted_now():
    (kind,) = plan([joint(stack(1.0, 1.0))]).kinds
    assert kind.electrode == CAPS


def test_sheets_are_added_up_whichever_way_a_face_points():
    one_side = {"upper": Surface.GROUND_BARE, "lower": Surface.HOT_DIP_ZINC}
    top = Sheet(0.8, **one_side)
    joints = [
        joint(Stack((top, Sheet(1.0)))),
        joint(Stack((top.turned_over(), Sheet(1.0))), "other way"),
    ]
    found = plan(joints)
    assert len(found.kinds) == 2
    assert sorted((s.thickness_mm, n) for s, n in found.cuts.items()) == [(0.8, 4), (1.0, 4)]
