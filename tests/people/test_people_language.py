"""Roles and PINs in the reader's language."""

import pytest

from advisor.errors import InputError, RoleError
from advisor.language import speaking
from advisor.people.pin import LOCKED, MOST_WRONG, Tries, check_pin
from advisor.people.roles import Act, Role, check


def test_a_refusal_names_act_and_role_in_the_language(pseudo):
    with speaking("de"), pytest.raises(RoleError) as caught:
        check("Kim", Role.WELDER, Act.VOID)
    assert str(caught.value) == (
        "⟦⟦voiding a coupon⟧ takes a lead; Kim is a ⟦welder⟧: ask a lead to do it⟧"
    )


def test_a_pin_is_refused_in_the_language(pseudo):
    with speaking("de"):
        with pytest.raises(InputError, match="⟦the PIN is one digit over and over"):
            check_pin("111111")
        with pytest.raises(RoleError, match="⟦this name is locked"):
            Tries(MOST_WRONG).check(None)


def test_the_sentence_for_a_locked_name_says_after_how_many():
    assert f"after {MOST_WRONG} wrong PINs in a row" in LOCKED
