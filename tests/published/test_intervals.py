"""Pass-rate intervals against published cases and against an independent formula."""

import math

import pytest

from advisor.errors import InputError
from advisor.review.intervals import pass_rate

# Wilson 95 % intervals, Newcombe, Stat. Med. 17 (1998), p. 857 (from memory; recomputed), 4 digits.
NEWCOMBE = [
    (81, 263, 0.2553, 0.3662),
    (15, 148, 0.0624, 0.1605),
    (0, 20, 0.0, 0.1611),
    (1, 29, 0.0061, 0.1718),
]


@pytest.mark.parametrize(("passed", "judged", "low", "high"), NEWCOMBE)
def test_wilson_matches_newcombe(passed, judged, low, high):
    rate = pass_rate(passed, judged)
    assert rate.low == pytest.approx(low, abs=5e-5)
    assert rate.high == pytest.approx(high, abs=5e-5)


def test_exact_matches_nist_handbook():
    # NIST/SEMATECH e-Handbook, prc242 (read): 4 of 20, two-sided 90 %, 0.0714 to 0.4010.
    rate = pass_rate(4, 20, "exact", level=0.90)
    assert rate.low == pytest.approx(0.0714, abs=5e-5)
    assert rate.high == pytest.approx(0.4010, abs=5e-5)


def test_five_of_five_still_allows_a_poor_rate():
    # Exact one-of-two-sided 95 %: (α/2)^(1/n), closed form for no failures.
    assert pass_rate(5, 5, "exact").low == pytest.approx(0.025 ** (1 / 5))


@pytest.mark.parametrize(("passed", "judged"), [(0, 1), (3, 7), (50, 51), (9, 9)])
def test_wilson_matches_its_closed_form(passed, judged):
    z = 1.959963984540054
    share, spread = passed / judged, z * z / judged
    centre = (share + spread / 2) / (1 + spread)
    half = z * math.sqrt(share * (1 - share) / judged + spread / (4 * judged)) / (1 + spread)
    rate = pass_rate(passed, judged)
    assert rate.low == pytest.approx(centre - half, abs=1e-12)
    assert rate.high == pytest.approx(centre + half, abs=1e-12)


def test_nothing_judged_says_nothing():
    rate = pass_rate(0, 0)
    assert (rate.rate, rate.low, rate.high) == (None, 0.0, 1.0)
    assert rate.words() == "nothing judged yet"


def test_more_passes_than_coupons_is_refused():
    with pytest.raises(InputError, match="6 passes of 5 coupons cannot be"):
        pass_rate(6, 5)
