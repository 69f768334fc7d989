"""What a weld is, in the reader's language; what is stored of it stays as it is."""

import pytest

from advisor.errors import InputError
from advisor.language import speaking
from advisor.weld.layout import propose
from advisor.weld.layout_flange import Flange, evenly, needs_for
from advisor.weld.layout_words import why
from advisor.weld.published import published_start
from advisor.weld.setting import Setting
from advisor.weld.sheet import Sheet, Surface
from advisor.weld.stack import Stack

TWO = Stack((Sheet(1.2), Sheet(1.2)))


def test_a_word_is_shown_in_the_language_and_kept_in_english(pseudo):
    with speaking("de"):
        assert Surface.GROUND_BARE.label == "⟦ground bare⟧"
        assert (Surface.GROUND_BARE.english, str(Surface.GROUND_BARE)) == (
            "ground bare",
            "ground_bare",
        )
    assert Surface.GROUND_BARE.label == "ground bare"


def test_code_english_and_the_words_of_the_language_are_read(pseudo):
    with speaking("de"):
        for text in ("hot_dip_zinc", "Hot-dip zinc", "⟦hot-dip zinc⟧"):
            assert Surface.parse(text) is Surface.HOT_DIP_ZINC
    with pytest.raises(InputError, match="surface is '⟦hot-dip zinc⟧'; it must be one of"):
        Surface.parse("⟦hot-dip zinc⟧")


def test_a_start_that_was_made_before_says_its_basis_to_each_reader(pseudo):
    start = published_start(TWO)
    with speaking("de"):
        assert start.basis.startswith("⟦⟦ISO 14373:2015 Table B.1, ⟦uncoated, high force")
        assert "entered with 1,2 mm, ⟦the thinner" in start.basis
    assert "entered with 1.2 mm, the thinner" in start.basis


def test_a_layout_is_explained_in_the_language(pseudo):
    layout = propose(Flange(200, 16, 8, evenly(4, 30, 30, 6)), needs_for(TWO, 6))
    with speaking("de"):
        assert why(layout).startswith("⟦The whole row moves ")
        assert ",0 mm towards" in why(layout)


def test_settings_are_compared_and_refused_in_the_language(pseudo):
    one, other = Setting(9.5, 200, 2.5), Setting(9.0, 200, 2.5, pulses=2)
    with speaking("de"):
        assert one.differences(other) == [
            "⟦⟦weld current⟧ 9,5 kA, not 9 kA⟧",
            "⟦⟦pulses⟧ 1, not 2⟧",
        ]
        with pytest.raises(InputError, match="⟦⟦weld current⟧ is 90 kA; it must be 0,3 to 40"):
            Setting(90, 200, 2.5)
