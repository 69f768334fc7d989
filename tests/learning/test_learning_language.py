"""Advice that is kept for everybody speaks the language of whoever asks."""

import pytest
from learning_makers import SETTING, advice_on, logged, stack_of

from advisor.errors import InputError, NoAdviceError
from advisor.language import speaking
from advisor.learning.exercises import machine_for
from advisor.weld.machine import Machine

PAIR = stack_of(1.2, 1.2)


@pytest.mark.parametrize("count", [0, 1, 3])
def test_kept_advice_is_said_anew_in_each_language(pseudo, count):
    advice = advice_on([logged(n + 1, PAIR, SETTING, 3.1) for n in range(count)])
    suggestion, following = advice.suggestion, advice.next_coupon

    def said():
        texts = (suggestion.basis, suggestion.explanation, suggestion.distance)
        return (*texts, *suggestion.notes, following.reason)

    english = said()
    with speaking("de"):
        assert all("⟦" in each for each in said())
    assert said() == english
    assert not any("⟦" in each for each in english)


def test_a_refusal_is_said_in_the_language(pseudo):
    weak = Machine("Small gun", largest_current_kA=4.5, largest_force_kN=3)
    with speaking("de"), pytest.raises(NoAdviceError, match="⟦Small gun gives at most 4,5 kA"):
        advice_on([], machine=weak)
    with speaking("de"), pytest.raises(InputError, match="⟦no virtual machine has number -1"):
        machine_for("bare", -1)
