"""Closed lists of words: stored by code, shown by label, read by either."""

import pytest

from advisor.coupons.coverage import CoverState
from advisor.coupons.matching import Condition
from advisor.coupons.rules import ExpulsionRule, InterfaceFailureRule
from advisor.coupons.verdict import Outcome
from advisor.errors import InputError
from advisor.weld.electrode import CapShape
from advisor.weld.failure import THROUGH_INTERFACE, WITHOUT_DIAMETER, FailureType, TestType
from advisor.weld.published import Schedule
from advisor.weld.sheet import SteelFamily, Surface
from advisor.weld.size import GoverningRule
from advisor.weld.stack import AdhesiveState

LISTS = (
    AdhesiveState,
    CapShape,
    Condition,
    CoverState,
    ExpulsionRule,
    FailureType,
    GoverningRule,
    InterfaceFailureRule,
    Outcome,
    Schedule,
    SteelFamily,
    Surface,
    TestType,
)
WORDS = [pytest.param(word, id=f"{type(word).__name__}-{word}") for each in LISTS for word in each]


@pytest.mark.parametrize("word", WORDS)
def test_code_and_label_are_read_back_whatever_their_case(word):
    kind = type(word)
    for text in (word.value, word.label, word.value.upper(), f"  {word.label.title()} "):
        assert kind.parse(text) is word
    assert word == word.value == str(word)


@pytest.mark.parametrize("kind", LISTS, ids=lambda kind: kind.__name__)
def test_labels_of_a_list_differ(kind):
    assert len({word.label.casefold() for word in kind}) == len(kind)


@pytest.mark.parametrize("kind", LISTS, ids=lambda kind: kind.__name__)
def test_another_word_is_refused_with_the_choices(kind):
    with pytest.raises(InputError, match=r"is 'purple'; it must be one of: ") as caught:
        kind.parse(" purple ")
    assert all(word.label in str(caught.value) for word in kind)
    assert str(caught.value).startswith(kind.what())


def test_only_no_fusion_leaves_nothing_to_measure():
    assert {FailureType.NO_FUSION} == WITHOUT_DIAMETER
    assert {FailureType.INTERFACE, FailureType.INTERFACE_WITH_BUTTON} == THROUGH_INTERFACE
