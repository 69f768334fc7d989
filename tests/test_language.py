"""Sentences, figures and days in another language; the catalogue has every sentence."""

from datetime import UTC, date, datetime

import pytest

from advisor.language import (
    LANGUAGES,
    ask,
    figure,
    language,
    listed,
    msg,
    say,
    say_number,
    speaking,
)


def test_english_is_spoken_where_nothing_is_chosen():
    assert language() == "en"
    assert say("{share:.0%} of {n} at {x:.1f} mm", share=0.5, n=4, x=1.25) == "50% of 4 at 1.2 mm"
    assert msg("as it is") == "as it is"


@pytest.mark.parametrize("message", ["no {{place}} here", "nothing to fill"])
def test_braces_that_are_no_place_come_out_single_in_every_language(message):
    for code in LANGUAGES:
        with speaking(code):
            assert say(message) == message.replace("{{", "{").replace("}}", "}")


def test_figures_take_the_marks_of_the_language_and_texts_do_not():
    with speaking("de"):
        assert figure(1234.5, ",.1f") == "1.234,5"
        assert say("{value:.2f} and {text}", value=4.25, text="v1.2") == "4,25 and v1.2"
    assert figure(1234.5, ",.1f") == "1,234.5"


def test_months_are_named_in_the_language():
    moment = datetime(2026, 3, 5, 14, 7, tzinfo=UTC)
    with speaking("de"):
        assert figure(moment, "%d %B %Y %H:%M") == "05 März 2026 14:07"
    assert figure(date(2026, 3, 5), "%d %b %Y") == "05 Mar 2026"


def test_numbers_of_things_take_the_right_form():
    assert say_number("{number} coupon", "{number} coupons", 1) == "1 coupon"
    assert say_number("{number} coupon", "{number} coupons", 0) == "0 coupons"


def test_lists_are_joined_as_the_language_joins_them():
    assert listed([]) == ""
    assert listed(["a"]) == "a"
    assert listed(["a", "b", "c"]) == "a, b and c"
    with speaking("de"):
        assert listed(["a", "b", "c"], "or") == "a, b oder c"


def test_a_language_is_spoken_for_a_while_and_an_unknown_one_is_english():
    with speaking("de"):
        with speaking("en"):
            assert language() == "en"
        assert language() == "de"
        with speaking("tlh"):
            assert language() == "en"
    assert language() == "en"


def test_who_is_asked_answers_where_no_language_is_set(monkeypatch):
    monkeypatch.setattr("advisor.language._asked", [])
    ask(lambda: None)
    ask(lambda: "de")
    assert language() == "de"
    with speaking("en"):
        assert language() == "en"
