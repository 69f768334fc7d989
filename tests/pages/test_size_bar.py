"""The bar of the expected size: in the right order, in words too, in the person's unit."""

import re

import pytest

from advisor.learning.sound import Expected
from advisor.pages.parts.size_bar import size_bar, size_words
from advisor.pages.parts.units_choice import UnitChoice

MM, INCH = UnitChoice.read({}), UnitChoice.read({"unit_length": "in"})


def hoped(low, size, high, minimum=4.0):
    return Expected(size, low, high, minimum, chance_sound=0.9, chance_expulsion=0.01)


def left(html, name):
    """Return where a part of the bar begins, in per cent of the width."""
    return float(re.search(rf'class="{name}" style="left:([\d.]+)%', html)[1])


@pytest.mark.parametrize("case", [(4.2, 4.7, 5.3), (1.9, 5.0, 13.0), (2.0, 2.5, 3.0)])
def test_parts_lie_in_the_order_of_their_sizes_and_inside(case):
    html = size_bar(hoped(*case), MM)
    low, size, high = (left(html, name) for name in ("low", "mid", "high"))
    assert 0 < low < size < high < 100
    for value, place in zip(case, (low, size, high), strict=True):
        assert (place < left(html, "least")) == (value < 4.0)


@pytest.mark.parametrize(
    ("case", "parts"),
    [((4.2, 4.7, 5.3), {"range"}), ((3.5, 4.2, 5), {"range", "short"}), ((2, 2.5, 3), {"short"})],
)
def test_only_what_is_below_the_minimum_is_hatched(case, parts):
    assert {p for p in ("range", "short") if f'class="{p}"' in size_bar(hoped(*case), MM)} == parts


def test_hatched_and_plain_meet_at_the_minimum():
    html = size_bar(hoped(3.5, 4.2, 5.0), MM)
    assert left(html, "range") == pytest.approx(left(html, "least"), abs=0.01)


def test_the_same_is_said_in_words():
    words = size_words(hoped(4.2, 4.7, 5.3), MM)
    assert words == (
        "Expected size 4.70 mm, nine coupons in ten between 4.20 mm and 5.30 mm; minimum 4.00 mm."
    )
    assert f'aria-label="{words}"' in size_bar(hoped(4.2, 4.7, 5.3), MM)


def test_inches_are_inches():
    html = size_bar(hoped(4.2, 4.7, 5.3), INCH)
    # 4 mm / 25.4 = 0.1575 in, 4.2 mm = 0.1654 in
    assert "minimum 0.157 in" in html
    assert ">0.165 in<" in html
    assert "mm" not in html
