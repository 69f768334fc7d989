"""Readings speak the language of whoever asks, also those that are kept for everybody."""

import pandas as pd
from test_drift import RULES, STACKS, alike, made

from advisor.language import speaking
from advisor.review.comparison import compare
from advisor.review.control_charts import Rule
from advisor.review.drift import frame_of, read_drift
from advisor.review.intervals import pass_rate, percent
from advisor.review.like_for_like import place_of
from advisor.review.standing import read_groups


def test_a_reading_of_drift_that_is_kept_is_said_anew_in_each_language(pseudo):
    drifting = read_drift(made(1), made(51, 40, 26, shift=-0.6), RULES)
    lacking = read_drift(made(1, 5), [], RULES)
    for reading in (drifting, lacking):
        with speaking("de"):
            said = (reading.headline, *reading.sentences, *reading.wear.sentences)
            assert all(each.startswith("⟦") for each in (*said, *reading.signal_texts))
        assert "⟦" not in "".join((reading.headline, *reading.sentences, reading.wear.refusal))
    with speaking("de"):
        assert f"⟦{Rule.AVERAGE.english}⟧" in drifting.points["signal"].iloc[-1]
    assert Rule.AVERAGE.english in drifting.points["signal"].iloc[-1].split("; ")


def test_the_names_that_sort_coupons_are_the_same_in_every_language(pseudo):
    stack = STACKS[2][0]
    with speaking("de"):
        place_of.cache_clear()
        title = place_of(stack, RULES.size.governing).title
        frame = frame_of(alike([5.0], stack=stack), RULES)
    place_of.cache_clear()
    assert title == place_of(stack, RULES.size.governing).title
    assert frame["electrode"].tolist() == ["dome 6 mm CuCrZr"]


def test_rates_are_written_with_the_marks_of_the_language(pseudo):
    counts = pd.DataFrame({"name": ["Kim"], "passed": [19], "failed": [1], "open": [2]})
    with speaking("de"):
        assert percent(0.9004, beside=0.9) == "90,04"
        assert pass_rate(0, 0).words() == "⟦nothing judged yet⟧"
        assert read_groups(counts)[0].words().endswith("⟦2 not yet judged⟧")
        strata = pd.DataFrame(
            [{"stratum": "x", "passed_a": 9, "failed_a": 3, "passed_b": 4, "failed_b": 8}]
        )
        assert all(each.startswith("⟦") for each in compare(strata, "Kim", "Lee").sentences)
    assert percent(0.9004, beside=0.9) == "90.04"
