"""Coverage: does a coupon speak for a joint? Each condition alone, runs, and all that is open."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import permutations, product
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import coupons as coupon_strategy

from advisor.coupons.coupon import Coupon, InterfaceResult
from advisor.coupons.coverage import (
    BONDED_MISSING,
    CURED_WITHOUT_TEST,
    Coverage,
    CoverState,
    assess,
)
from advisor.coupons.joint import Bench, Joint, LoggedCoupon
from advisor.coupons.matching import Condition, compare
from advisor.coupons.rules import CoverageRules, JudgingRules
from advisor.coupons.verdict import Outcome, Reason, Verdict, judge
from advisor.errors import InputError
from advisor.units import to_inner
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.failure import FailureType
from advisor.weld.setting import Setting
from advisor.weld.sheet import Sheet, SteelFamily, Surface
from advisor.weld.stack import UNBONDED, AdhesiveState, Bond, Stack

NOW = datetime(2026, 3, 31, 14, 0, tzinfo=UTC)
RULES = CoverageRules()
WET, PART, CURED = (
    Bond("Demo epoxy A", state)
    for state in (AdhesiveState.WET, AdhesiveState.PART_CURED, AdhesiveState.CURED)
)
OTHER_WET = Bond("Demo epoxy B", AdhesiveState.WET)
CAPS = Electrode(CapShape.DOME, 6.0)
SETTING = Setting(8.0, 200.0, 2.5)
OTHER_SETTING = Setting(9.0, 200.0, 2.5)
TOP = Sheet(0.8, SteelFamily.HIGH_STRENGTH, Surface.HOT_DIP_ZINC, Surface.GROUND_BARE)
BOTTOM = Sheet(1.2, SteelFamily.LOW_CARBON, Surface.GROUND_BARE, Surface.BARE)
STACK = Stack((TOP, BOTTOM), (WET,))
JOINT = Joint("sill flange, outer", "RO 1", STACK, "gun 1", SETTING)
BENCH = Bench(
    "gun 1", CAPS, fitted_at=NOW - timedelta(days=60), repaired_at=NOW - timedelta(days=90)
)
PASS, FAIL, OPEN = (
    Verdict(outcome, (Reason(outcome, "as the test says"),))
    for outcome in (Outcome.PASS, Outcome.FAIL, Outcome.OPEN)
)


def logged(
    number: int = 1,
    verdict: Verdict = PASS,
    hours_ago: float = 1.0,
    voided: str = "",
    **change: object,
) -> LoggedCoupon:
    """Return a coupon that covers JOINT unless something is changed."""
    fields: dict[str, object] = {
        "made_at": NOW - timedelta(hours=hours_ago),
        "welder": "Kim",
        "machine": "gun 1",
        "electrode": CAPS,
        "stack": STACK,
        "setting": SETTING,
        "job": "RO 1",
    }
    return LoggedCoupon(number, Coupon(**(fields | change)), verdict, voided=voided)


def run(verdicts: Sequence[Verdict], **change: object) -> list[LoggedCoupon]:
    """Return coupons at one setting, oldest first, an hour apart."""
    count = len(verdicts)
    return [logged(n + 1, v, count - n, **change) for n, v in enumerate(verdicts)]


def ask(coupons: Sequence[LoggedCoupon], joint: Joint = JOINT, bench: Bench = BENCH) -> Coverage:
    return assess(joint, bench, coupons, RULES, NOW)


def unbonded(joint: Joint = JOINT) -> Joint:
    return replace(joint, stack=replace(STACK, bonds=(UNBONDED,)))


# --- one coupon ---------------------------------------------------------------------------------


def test_a_coupon_that_agrees_in_everything_speaks_for_the_joint():
    assert compare(JOINT, BENCH, logged(), RULES, NOW) == ()


#: One change to the coupon, the condition it breaks, and the words for it.
BROKEN = [
    ({"machine": "gun 2"}, Condition.MACHINE, "made on gun 2, not on gun 1"),
    (
        {"electrode": Electrode(CapShape.DOME, 5.0)},
        Condition.ELECTRODE,
        "made with dome 5 mm CuCrZr, fitted now: dome 6 mm CuCrZr",
    ),
    (
        {"electrode": Electrode(CapShape.FLAT, 6.0)},
        Condition.ELECTRODE,
        "made with flat 6 mm CuCrZr, fitted now: dome 6 mm CuCrZr",
    ),
    (
        {"stack": replace(STACK, sheets=(replace(TOP, thickness_mm=0.86), BOTTOM))},
        Condition.STACK,
        "sheet 1: 0.86 mm, not 0.8 mm",
    ),
    (
        {"stack": replace(STACK, sheets=(TOP, replace(BOTTOM, family=SteelFamily.DUAL_PHASE)))},
        Condition.STACK,
        "sheet 2: dual-phase, not low-carbon",
    ),
    (
        {"stack": Stack((TOP, BOTTOM, BOTTOM), (WET, WET))},
        Condition.STACK,
        "3 sheets, not 2",
    ),
    (
        {"stack": replace(STACK, sheets=(replace(TOP, lower=Surface.HOT_DIP_ZINC), BOTTOM))},
        Condition.SURFACE,
        "sheet 1, lower face: hot-dip zinc, not ground bare",
    ),
    (
        {"stack": replace(STACK, sheets=(TOP, replace(BOTTOM, lower=Surface.ELECTRO_ZINC)))},
        Condition.SURFACE,
        "sheet 2, lower face: electrolytic zinc, not bare",
    ),
    (
        {"stack": replace(STACK, bonds=(OTHER_WET,))},
        Condition.ADHESIVE,
        "interface 1: Demo epoxy B, wet, not Demo epoxy A, wet",
    ),
    (
        {"stack": replace(STACK, bonds=(UNBONDED,))},
        Condition.ADHESIVE,
        "interface 1: no adhesive, not Demo epoxy A, wet",
    ),
    ({"setting": OTHER_SETTING}, Condition.SETTING, "weld current 9 kA, not 8 kA"),
    ({"verdict": FAIL}, Condition.VERDICT, "judged fail"),
    ({"verdict": OPEN}, Condition.VERDICT, "judged not yet judged"),
    ({"voided": "wrong sheet"}, Condition.VOIDED, "voided: wrong sheet"),
    ({"job": "RO 2"}, Condition.JOB, "made for job RO 2; a bonded joint needs one of job RO 1"),
    ({"job": ""}, Condition.JOB, "made for no job; a bonded joint needs one of job RO 1"),
    (
        {"hours_ago": 30 * 24 + 1},
        Condition.AGE,
        "made 2026-03-01 13:00; the shop allows 30 days",
    ),
    (
        {"hours_ago": -1},
        Condition.AGE,
        "dated in the future (2026-03-31 15:00); correct its date",
    ),
]


@pytest.mark.parametrize(("change", "condition", "text"), BROKEN)
def test_each_condition_broken_alone_is_the_only_one_named(change, condition, text):
    (difference,) = compare(JOINT, BENCH, logged(**change), RULES, NOW)
    assert (difference.condition, difference.text) == (condition, text)


@pytest.mark.parametrize(
    ("change", "condition", "text"),
    [
        (
            {"fitted_at": NOW},
            Condition.ELECTRODE,
            "new caps were fitted after it (2026-03-31 14:00)",
        ),
        (
            {"repaired_at": NOW},
            Condition.MACHINE,
            "the machine was repaired after it (2026-03-31 14:00)",
        ),
        (
            {"electrode": None},
            Condition.ELECTRODE,
            "the shop has not said which caps are fitted on this machine (Shop set-up)",
        ),
        (
            {"machine": "gun 2"},
            Condition.ELECTRODE,
            "the caps fitted are known for gun 2, not for gun 1",
        ),
    ],
)
def test_new_caps_and_repairs_end_what_was_tested_before(change, condition, text):
    (difference,) = compare(JOINT, replace(BENCH, **change), logged(), RULES, NOW)
    assert (difference.condition, difference.text) == (condition, text)


def test_every_condition_there_is_was_broken_above():
    assert {condition for _, condition, _ in BROKEN} == set(Condition)


def test_redressed_caps_of_the_same_face_keep_coverage():
    assert ask(run([PASS, PASS], welds_since_dressing=180)).state is CoverState.COVERED


def test_a_face_typed_in_inches_is_the_same_face():
    quarter_inch = to_inner("diameter", 0.25, "in")
    bench = replace(BENCH, electrode=Electrode(CapShape.DOME, 6.35))
    for face_mm in (quarter_inch, 6.35 + 1e-12, 6.35 - 1e-12):
        made = logged(electrode=Electrode(CapShape.DOME, face_mm))
        assert compare(JOINT, bench, made, RULES, NOW) == ()


def test_thickness_within_the_tolerance_is_the_same_stack():
    for thickness in (0.75, 0.85):
        near = replace(STACK, sheets=(replace(TOP, thickness_mm=thickness), BOTTOM))
        assert compare(JOINT, BENCH, logged(stack=near), RULES, NOW) == ()
    tight = replace(RULES, thickness_tolerance_mm=0.0)
    assert compare(JOINT, BENCH, logged(), tight, NOW) == ()
    assert compare(JOINT, BENCH, logged(stack=near), tight, NOW) != ()


def test_a_grade_is_only_a_note():
    noted = replace(STACK, sheets=(replace(TOP, grade="DX54D"), BOTTOM))
    assert compare(JOINT, BENCH, logged(stack=noted), RULES, NOW) == ()


@pytest.mark.parametrize(
    ("joint_bond", "coupon_bond"), list(permutations((UNBONDED, WET, PART, CURED), 2))
)
def test_wet_part_cured_cured_and_unbonded_never_cover_each_other(joint_bond, coupon_bond):
    joint = replace(JOINT, stack=replace(STACK, bonds=(joint_bond,)))
    made = run([PASS] * 5, stack=replace(STACK, bonds=(coupon_bond,)))
    found = ask(made, joint)
    assert found.state is CoverState.MISSING
    assert found.setting is None
    assert [d.condition for d in found.differences] == [Condition.ADHESIVE]


@pytest.mark.parametrize("place", [0, 1])
@pytest.mark.parametrize("other", [UNBONDED, PART, CURED, OTHER_WET])
def test_one_interface_of_another_state_is_enough(place, other):
    sheets = (TOP, BOTTOM, BOTTOM)
    bonds = [WET, WET]
    bonds[place] = other
    joint = replace(JOINT, stack=Stack(sheets, (WET, WET)))
    assert ask(run([PASS, PASS], stack=joint.stack), joint).state is CoverState.COVERED
    (difference,) = ask(run([PASS, PASS], stack=Stack(sheets, tuple(bonds))), joint).differences
    assert difference.text.startswith(f"interface {place + 1}: {other}, not ")


@pytest.mark.parametrize("days", [29, 30])
def test_a_coupon_counts_to_the_end_of_its_last_day(days):
    assert compare(JOINT, BENCH, logged(hours_ago=24 * days), RULES, NOW) == ()


def test_bonded_and_unbonded_joints_have_their_own_age():
    old = logged(hours_ago=24 * 8)
    week = replace(RULES, bonded_days=7)
    assert [d.condition for d in compare(JOINT, BENCH, old, week, NOW)] == [Condition.AGE]
    plain = logged(hours_ago=24 * 8, stack=unbonded().stack)
    assert compare(unbonded(), BENCH, plain, week, NOW) == ()


def test_an_unbonded_joint_may_lean_on_another_job():
    plain = unbonded()
    assert ask(run([PASS, PASS], stack=plain.stack, job="RO 2"), plain).state is CoverState.COVERED


def test_age_is_elapsed_time_also_over_a_clock_change():
    """30 days by the clock on the wall, 30 days and an hour by a stopwatch (autumn)."""
    zone = ZoneInfo("Europe/Berlin")
    now = datetime(2026, 11, 1, 12, 0, tzinfo=zone)
    made_at = datetime(2026, 10, 2, 12, 0, tzinfo=zone)
    bench = replace(BENCH, fitted_at=None, repaired_at=None)
    made = LoggedCoupon(1, replace(logged().coupon, made_at=made_at), PASS)
    assert [d.condition for d in compare(JOINT, bench, made, RULES, now)] == [Condition.AGE]


def test_moments_are_written_on_the_clock_of_the_one_who_asks():
    now = NOW.astimezone(ZoneInfo("Europe/Berlin"))
    (difference,) = compare(JOINT, replace(BENCH, fitted_at=NOW), logged(), RULES, now)
    assert "2026-03-31 16:00" in difference.text


# --- against the rules stated once more ---------------------------------------------------------


def speaks_for(joint: Joint, bench: Bench, made: LoggedCoupon) -> bool:
    """State conditions 1 to 6 of coverage once more, with the default rules."""
    piece, wanted = made.coupon, joint.stack

    def same_stack(welded: Stack) -> bool:
        return (
            len(wanted.sheets) == len(welded.sheets)
            and all(
                round(abs(a.thickness_mm - b.thickness_mm) * 1000) <= 50
                and (a.family, a.upper, a.lower) == (b.family, b.upper, b.lower)
                for a, b in zip(wanted.sheets, welded.sheets, strict=True)
            )
            and wanted.bonds == welded.bonds
        )

    age_s = NOW.timestamp() - piece.made_at.timestamp()
    return all(
        (
            piece.machine == joint.machine,
            (piece.electrode.shape, piece.electrode.face_mm)
            == (bench.electrode.shape, bench.electrode.face_mm),
            bench.fitted_at <= piece.made_at,
            bench.repaired_at <= piece.made_at,
            same_stack(piece.stack) or same_stack(piece.stack.turned_over()),
            joint.setting is None or joint.setting == piece.setting,
            made.verdict.outcome == "pass",
            not made.voided,
            age_s <= 30 * 86400,
            piece.job == joint.job or not any(bond.adhesive for bond in wanted.bonds),
        )
    )


def draw_pair(rng: np.random.Generator) -> tuple[Joint, Bench, LoggedCoupon]:
    """Draw a joint, a bench and a coupon from few values, so that many pairs agree."""

    def one(*choices: object) -> object:
        """Return the first choice four times out of five."""
        return choices[0] if rng.random() < 0.8 else choices[rng.integers(len(choices))]

    def stack() -> Stack:
        top = replace(TOP, thickness_mm=one(0.8, 0.84, 0.85, 0.86), lower=one(TOP.lower, TOP.upper))
        bottom = replace(BOTTOM, family=one(BOTTOM.family, TOP.family))
        drawn = Stack((top, bottom), (one(WET, WET, UNBONDED, PART, CURED, OTHER_WET),))
        return drawn if rng.random() < 0.5 else drawn.turned_over()

    joint = replace(
        JOINT,
        stack=stack(),
        machine=one("gun 1", "gun 2"),
        setting=one(None, SETTING, OTHER_SETTING),
    )
    bench = replace(
        BENCH,
        machine=joint.machine,
        fitted_at=NOW - timedelta(days=one(60, 20)),
        repaired_at=NOW - timedelta(days=one(90, 10)),
    )
    made = logged(
        verdict=one(PASS, FAIL, OPEN),
        hours_ago=24 * one(1, 10, 15, 30, 31),
        voided=one("", "wrong sheet"),
        machine=one("gun 1", "gun 2"),
        electrode=one(CAPS, Electrode(CapShape.DOME, 5.0), Electrode(CapShape.FLAT, 6.0)),
        stack=stack(),
        setting=one(SETTING, OTHER_SETTING),
        job=one("RO 1", "RO 2", ""),
    )
    return joint, bench, made


def test_compare_agrees_with_the_rules_stated_once_more():
    rng = np.random.default_rng(14373)
    spoke = 0
    for _ in range(300):
        joint, bench, made = draw_pair(rng)
        expected = speaks_for(joint, bench, made)
        found = compare(joint, bench, made, RULES, NOW)
        assert (not found) is expected, (joint, bench, made, found)
        spoke += expected
    assert 30 < spoke < 270, "the draw must hold both kinds"


# --- runs ---------------------------------------------------------------------------------------

LETTERS = {"P": PASS, "F": FAIL, "O": OPEN}


@pytest.mark.parametrize("wanted", [1, 2, 3])
@pytest.mark.parametrize("length", range(5))
def test_only_the_newest_in_a_row_count(wanted, length):
    rules = replace(RULES, passes_in_a_row=wanted)
    for letters in map("".join, product("PFO", repeat=length)):
        made = run([LETTERS[letter] for letter in letters])
        found = assess(JOINT, BENCH, made, rules, NOW)
        in_a_row = len(letters) - len(letters.rstrip("P"))
        assert (found.state is CoverState.COVERED) is (in_a_row >= wanted), letters
        assert (found.passes, found.wanted) == (in_a_row, wanted)
        assert found.setting == (SETTING if in_a_row >= wanted else None)


def test_pass_pass_covers_and_says_what_to_do():
    found = ask(run([PASS, PASS]))
    assert (found.state, found.headline) == (CoverState.COVERED, "bonded joint covered")
    assert [c.number for c in found.evidence] == [2, 1]
    assert found.detail == (
        "2 passing coupons in a row at one setting (#2, #1); the shop asks for 2. "
        "Weld the joint with exactly this setting."
    )
    assert (found.setting, found.nearest, found.differences) == (SETTING, None, ())


def test_pass_fail_pass_is_one_of_two():
    found = ask(run([PASS, FAIL, PASS]))
    assert (found.state, found.passes) == (CoverState.MISSING, 1)
    assert found.detail.startswith("1 of 2 passing coupons in a row: weld and test 1 more at the")


def test_order_of_the_log_does_not_matter():
    for made in permutations(run([FAIL, PASS, PASS])):
        assert ask(made).state is CoverState.COVERED
    for made in permutations(run([PASS, PASS, FAIL])):
        assert ask(made).state is CoverState.FAILED


@pytest.mark.parametrize("length", range(1, 5))
def test_runs_at_two_settings_do_not_touch_each_other(length):
    """Covered if and only if the newest two of either setting passed."""
    free = replace(JOINT, setting=None)
    kinds = list(product((PASS, FAIL), (SETTING, OTHER_SETTING)))
    for drawn in product(kinds, repeat=length):
        made = [
            logged(n + 1, verdict, length - n, setting=setting)
            for n, (verdict, setting) in enumerate(drawn)
        ]
        newest_two = {
            each: [v for v, setting in drawn if setting is each][-2:]
            for each in (SETTING, OTHER_SETTING)
        }
        sound = [each for each, verdicts in newest_two.items() if verdicts == [PASS, PASS]]
        found = ask(made, free)
        assert (found.state is CoverState.COVERED) is bool(sound)
        assert found.setting in (sound or [None])


def test_a_fail_of_another_job_ends_the_run_of_a_bonded_joint():
    made = [*run([PASS, PASS]), logged(3, FAIL, 0.5, job="RO 2")]
    assert ask(made).state is CoverState.FAILED


def test_passes_of_another_job_do_not_help_and_do_not_harm():
    between = [logged(1, hours_ago=3), logged(2, hours_ago=2, job="RO 2"), logged(3)]
    found = ask(between)
    assert [c.number for c in found.evidence] == [3, 1]
    others = ask(run([PASS, PASS, PASS], job="RO 2"))
    # Nothing of this job has expired: it never had a coupon.
    assert others.state is CoverState.MISSING
    assert others.detail.startswith("Coupons passed, but only for another job: weld and test 2 for")
    old = run([PASS, PASS], made_at=NOW - timedelta(days=31))
    assert ask([*old, *run([PASS], job="RO 2")]).state is CoverState.EXPIRED


def test_one_coupon_given_twice_is_one_pass():
    once = logged(7)
    found = ask([once, once, replace(once, revision=2)])
    assert (found.state, found.passes) == (CoverState.MISSING, 1)


def test_the_newest_revision_speaks():
    first, second = run([PASS, PASS])
    corrected = replace(second, revision=2, verdict=FAIL)
    assert ask([corrected, first, second]).state is CoverState.FAILED


def test_a_voided_coupon_neither_counts_nor_ends_a_run():
    made = run([PASS, PASS])
    assert ask([*made, logged(3, FAIL, 0.5, voided="wrong sheet")]).state is CoverState.COVERED
    assert ask([made[0], replace(made[1], voided="wrong sheet")]).passes == 1


def test_old_passes_have_expired():
    found = ask(run([PASS, PASS], made_at=NOW - timedelta(days=31)))
    assert (found.state, found.headline) == (CoverState.EXPIRED, BONDED_MISSING)


def test_a_single_old_pass_is_not_called_missing():
    """It passed: "no matching coupon has passed" would be wrong."""
    found = ask([logged(hours_ago=24 * 31)])
    assert found.state is CoverState.EXPIRED


def test_the_newest_not_yet_judged_is_asked_for():
    found = ask(run([PASS, PASS, OPEN]))
    assert found.state is CoverState.MISSING
    assert found.detail.startswith("The newest matching coupon is not yet judged: write down its")


def test_new_caps_end_a_covered_joint_at_once():
    made = run([PASS, PASS])
    assert ask(made).state is CoverState.COVERED
    refitted = ask(made, bench=replace(BENCH, fitted_at=NOW - timedelta(minutes=1)))
    assert refitted.state is CoverState.EXPIRED
    assert "Coupons passed before new caps were fitted" in refitted.detail
    assert [d.condition for d in refitted.differences] == [Condition.ELECTRODE]


def test_a_coupon_of_the_very_moment_the_caps_were_fitted_counts():
    made = logged()
    bench = replace(BENCH, fitted_at=made.coupon.made_at, repaired_at=made.coupon.made_at)
    assert compare(JOINT, bench, made, RULES, NOW) == ()


@pytest.mark.parametrize("verdicts", [[PASS, PASS], [PASS, FAIL]])
def test_coupons_at_another_setting_than_planned_neither_expire_nor_fail(verdicts):
    found = ask(run(verdicts, setting=OTHER_SETTING))
    assert found.state is CoverState.MISSING
    assert found.detail == "No matching coupon has passed: weld and test 2 in a row."


def test_without_coupons_the_loudest_words_are_for_bonded_joints():
    assert ask([]).headline == BONDED_MISSING == "bonded-joint test missing"
    plain = ask([], unbonded())
    assert plain.headline == "test missing"
    assert plain.detail == "No matching coupon has passed: weld and test 2 in a row."
    assert (plain.nearest, plain.differences) == (None, ())


def test_the_nearest_coupon_is_the_one_with_the_fewest_broken_conditions():
    far = logged(1, machine="gun 2", job="RO 2")
    near = logged(2, hours_ago=5, machine="gun 2")
    found = ask([far, near])
    assert found.nearest is near
    assert [d.condition for d in found.differences] == [Condition.MACHINE]


CURED_STACK = replace(STACK, bonds=(CURED,))


@pytest.mark.parametrize(
    ("made", "state"),
    [
        ([], CoverState.MISSING),
        (run([PASS], stack=CURED_STACK), CoverState.MISSING),
        (run([PASS, OPEN], stack=CURED_STACK), CoverState.MISSING),
        (run([PASS, PASS, FAIL], stack=CURED_STACK), CoverState.FAILED),
        (run([PASS, PASS], stack=CURED_STACK, job="RO 2"), CoverState.MISSING),
        (run([PASS, PASS], stack=STACK), CoverState.MISSING),
        (run([PASS, PASS], stack=replace(STACK, bonds=(UNBONDED,))), CoverState.MISSING),
    ],
    ids=["none", "one", "open", "failed", "other job", "wet", "unbonded"],
)
@pytest.mark.parametrize("planned", [SETTING, None])
def test_a_cured_joint_without_a_test_points_to_the_welder_maker(made, state, planned):
    found = ask(made, replace(JOINT, stack=CURED_STACK, setting=planned))
    assert (found.state, found.headline) == (state, BONDED_MISSING)
    assert found.detail.endswith(CURED_WITHOUT_TEST)
    assert "welder maker's recommended settings for welding through cured" in found.detail
    assert found.setting is None


def test_a_cured_joint_can_be_covered_by_cured_coupons():
    found = ask(run([PASS, PASS], stack=CURED_STACK), replace(JOINT, stack=CURED_STACK))
    assert found.state is CoverState.COVERED
    assert CURED_WITHOUT_TEST not in found.detail


@given(st.lists(coupon_strategy(), max_size=3), coupon_strategy(), st.booleans())
def test_turned_over_a_joint_is_covered_alike(others, piece, matching):
    """Joint and coupons each way up, with coupons that match and coupons that do not."""
    joint = Joint("seam", piece.job or "RO 9", piece.stack, piece.machine)
    bench = Bench(piece.machine, piece.electrode)
    pieces = [*others, *([replace(piece, job=joint.job)] * 2 if matching else [])]
    now = max((p.made_at for p in pieces), default=NOW)

    def ask_with(seam: Joint, coupons: Sequence[Coupon]) -> Coverage:
        made = [LoggedCoupon(n, c, PASS) for n, c in enumerate(coupons)]
        return assess(seam, bench, made, RULES, now)

    over = replace(joint, stack=joint.stack.turned_over())
    wanted = ask_with(joint, pieces)
    for seam, way_up in (
        (over, pieces),
        (joint, [p.turned_over() for p in pieces]),
        (over, [p.turned_over() for p in pieces]),
    ):
        found = ask_with(seam, way_up)
        assert (found.state, found.passes, found.setting) == (
            wanted.state,
            wanted.passes,
            wanted.setting,
        )
        assert len(found.differences) == len(wanted.differences)


def test_from_the_bench_to_a_covered_joint():
    """Judged by the shop's rules, not by a verdict made up for the test."""
    result = (InterfaceResult(4.4, 4.6, FailureType.BUTTON),)
    pieces = [logged(n, hours_ago=n, results=result).coupon for n in (2, 1)]
    made = [LoggedCoupon(n, p, judge(p, JudgingRules())) for n, p in enumerate(pieces)]
    assert ask(made).state is CoverState.COVERED


# --- the joint itself ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"name": " "}, "the joint has no name; say where it is"),
        ({"job": ""}, "the joint has no job; give the repair-order number"),
        ({"welds": 0}, "number of original welds is 0; it must be 1 to 1000"),
        ({"pitch_mm": 1.5}, r"pitch of the original welds is 1\.5 mm; it must be 5 to 500 mm"),
        ({"pitch_mm": float("nan")}, "pitch of the original welds is nan mm; it must be"),
    ],
)
def test_an_unusable_joint_is_refused(change, said):
    with pytest.raises(InputError, match=said):
        replace(JOINT, **change)
