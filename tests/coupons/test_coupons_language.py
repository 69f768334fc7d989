"""Coupons in the reader's language; a row of text and a stored verdict stay as they are."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from advisor.coupons.columns import title
from advisor.coupons.coupon import Coupon, InterfaceResult
from advisor.coupons.coverage import BONDED_MISSING, assess
from advisor.coupons.flat import COLUMNS, from_row, to_row
from advisor.coupons.joint import Bench, Joint
from advisor.coupons.rules import CoverageRules, JudgingRules
from advisor.coupons.verdict import Outcome, Reason, Verdict, in_words, judge
from advisor.errors import InputError
from advisor.language import say, speaking
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.failure import FailureType
from advisor.weld.setting import Setting
from advisor.weld.sheet import Sheet
from advisor.weld.size import SizeRule
from advisor.weld.stack import AdhesiveState, Bond, Stack

NOW = datetime(2026, 3, 31, 14, 0, tzinfo=UTC)
RULES = JudgingRules()
BONDED = Stack((Sheet(1.2), Sheet(1.2)), (Bond("glue", AdhesiveState.WET),))
SMALL = Coupon(
    NOW,
    "Kim",
    "gun 1",
    Electrode(CapShape.DOME, 6.0),
    BONDED,
    Setting(8.5, 200.0, 2.5),
    (InterfaceResult(4.0, 4.2, FailureType.BUTTON),),
    expulsion=True,
)


def test_a_verdict_is_given_in_the_language(pseudo):
    with speaking("de"):
        reasons = [reason.text for reason in judge(SMALL, RULES).reasons]
    assert reasons == [
        "⟦4,1 mm against 4,38 mm = 4√1,2: fail by 0,28 mm⟧",
        "⟦⟦button pulled⟧: pass⟧",
        "⟦expulsion: fail (upper end of the window)⟧",
    ]


def test_a_stored_verdict_is_said_anew_to_whoever_reads_it(pseudo):
    stored = judge(SMALL, RULES)
    assert in_words(SMALL, RULES, stored) is stored
    with speaking("de"):
        said = in_words(SMALL, RULES, stored)
        assert said == judge(SMALL, RULES)
        assert said.outcome is stored.outcome
        assert said.reasons != stored.reasons
        assert in_words(SMALL, RULES, Verdict(stored.outcome, stored.reasons)) == said


@pytest.mark.parametrize(
    ("coupon", "rules", "stored"),
    [
        (SMALL, RULES, Verdict(Outcome.FAIL, (Reason(Outcome.FAIL, "4 mm, too small"),))),
        (SMALL, JudgingRules(SizeRule(5.0)), judge(SMALL, RULES)),
        (replace(SMALL, expulsion=False), RULES, judge(SMALL, RULES)),
    ],
)
def test_a_stored_verdict_that_would_not_come_out_so_today_stays_as_it_is(
    pseudo, coupon, rules, stored
):
    with speaking("de"):
        assert in_words(coupon, rules, stored) is stored


def test_coverage_is_told_in_the_language(pseudo):
    joint = Joint("sill", "RO 1", BONDED, "gun 1")
    with speaking("de"):
        found = assess(joint, Bench("gun 1"), (), CoverageRules(), NOW)
        assert found.headline == say(BONDED_MISSING) != BONDED_MISSING
        assert found.detail.startswith("⟦No matching coupon has passed")


def test_a_row_is_the_same_text_in_every_language_and_read_in_all(pseudo):
    row = to_row(SMALL)
    with speaking("de"):
        assert to_row(SMALL) == row
        assert from_row(row) == SMALL
        assert from_row({**row, "test": "⟦peel⟧"}) == SMALL
        with pytest.raises(InputError, match="⟦edge_weld is 'maybe'; it must be yes or no⟧"):
            from_row({**row, "edge_weld": "maybe"})


def test_columns_have_their_words_in_the_language(pseudo):
    with speaking("de"):
        assert all("⟦" in title(name) for name in COLUMNS)
        assert title("sheet2_thickness_mm") == "⟦Sheet 2, thickness⟧"
