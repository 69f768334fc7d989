"""What a coupon was welded for, told from those before it."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import settings as drawn_settings

from advisor.coupons.purpose import Earlier, Purpose, purpose_of
from advisor.errors import InputError
from advisor.weld.setting import Setting

DIALLED = Setting(9.5, 200, 3.0)


def other(**changes):
    return replace(DIALLED, **changes)


@pytest.mark.parametrize(
    ("earlier", "purpose"),
    [
        ([], Purpose.FIRST),
        ([Earlier(DIALLED, False)], Purpose.SET_UP),
        ([Earlier(DIALLED, True)], Purpose.RELEASE),
        ([Earlier(other(current_kA=9.0), True)], Purpose.SET_UP),
        ([Earlier(other(weld_ms=210.0), True)], Purpose.SET_UP),
        ([Earlier(other(pulses=2, pause_ms=20.0), True)], Purpose.SET_UP),
        ([Earlier(other(hold_ms=100.0), True)], Purpose.SET_UP),
        ([Earlier(other(current_kA=9.5), True), Earlier(DIALLED, False)], Purpose.RELEASE),
        ([Earlier(DIALLED, False), Earlier(other(current_kA=9.0), True)], Purpose.SET_UP),
        # Half a step of the dial is another setting, less is the same.
        ([Earlier(other(current_kA=9.54), True)], Purpose.RELEASE),
        ([Earlier(other(current_kA=9.55), True)], Purpose.SET_UP),
    ],
)
def test_purposes_by_hand(earlier, purpose):
    assert purpose_of(DIALLED, earlier) is purpose
    assert purpose_of(DIALLED, iter(earlier)) is purpose


@given(
    drawn_settings(),
    st.lists(st.builds(Earlier, drawn_settings(), st.booleans()), max_size=4),
    st.booleans(),
)
def test_a_purpose_is_what_the_whole_comparison_of_settings_says(setting, earlier, again):
    earlier = [*earlier, *([Earlier(setting, True)] if again else [])]
    proven = any(each.passed and each.setting.same_as(setting) for each in earlier)
    wanted = Purpose.RELEASE if proven else Purpose.SET_UP if earlier else Purpose.FIRST
    assert purpose_of(setting, earlier) is wanted


def test_every_purpose_is_explained_and_read_by_its_words():
    assert len({purpose.meaning for purpose in Purpose}) == 3
    assert Purpose.parse("Release coupon") is Purpose.RELEASE
    with pytest.raises(InputError, match=r"purpose of a coupon is 'x'; it must be one of: first"):
        Purpose.parse("x")
