"""Lessons and what is said of a practice coupon follow the language of whoever reads them."""

from datetime import UTC, datetime

from advisor.coupons.coupon import Coupon
from advisor.coupons.joint import LoggedCoupon
from advisor.coupons.verdict import Outcome, Verdict
from advisor.language import speaking
from advisor.learning.exercises import machine_for
from advisor.store.practice_bench import Written
from advisor.teaching.lesson import WordGuess
from advisor.teaching.words import source_words
from advisor.weld.setting import Setting


def test_sources_and_answers_are_said(pseudo):
    guess = WordGuess(("in the thin one", "in the thick one"), lambda _: 1)
    with speaking("de"):
        assert source_words(["heat model"]) == "⟦Sources: ⟦heat model⟧.⟧"
        assert guess.compared([], 1) == "⟦The class was right: ⟦in the thick one⟧.⟧"


def test_what_was_written_otherwise_than_it_was_is_said(pseudo):
    machine = machine_for("bare", 7)
    peeled = machine.weld(1, Setting(9.0, 180, 2.5))
    made = Coupon(
        datetime.now(UTC),
        "Sam",
        "Practice gun",
        machine.caps,
        machine.stack,
        peeled.setting,
        peeled.results,
        expulsion=not peeled.expulsion,
    )
    logged = LoggedCoupon(1, made, Verdict(Outcome.OPEN, ()))
    with speaking("de"):
        (said,) = Written(logged, peeled).other_words
        assert said.startswith("⟦expulsion: ")
        assert Written(logged, None).other_words[0].startswith("⟦no weld on this bench")
