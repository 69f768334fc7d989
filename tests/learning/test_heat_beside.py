"""What the heat model says, beside the beliefs; neither was made from the other."""

import csv
import statistics

import pytest

from advisor.learning.heat_beside import SLOPES_FILE, Beside, beside_the_prior
from advisor.learning.prior import Belief, load_prior
from advisor.resources import reference


def test_each_slope_is_the_median_over_the_uncoated_published_rows():
    with reference(SLOPES_FILE).open(encoding="utf-8", newline="") as opened:
        rows = [row for row in csv.DictReader(opened) if row["schedule"].endswith("_force")]
    assert len(rows) == 16
    found = {each.belief.name: each for each in beside_the_prior()}
    for name in ("current", "time", "force", "face"):
        middle = statistics.median(float(row[name]) for row in rows)
        assert found[name].middle == pytest.approx(middle)
        assert found[name].lowest <= middle <= found[name].highest


def test_the_beliefs_are_those_the_advice_uses():
    beliefs = {each.name: each for each in load_prior().slopes}
    assert [each.belief for each in beside_the_prior()] == [
        beliefs[name] for name in ("current", "time", "force", "face", "thickness")
    ]


def test_the_heat_model_lies_within_what_was_believed_before_any_coupon():
    """Two sources that know nothing of each other; a new table that disagreed would show here."""
    assert [each.belief.name for each in beside_the_prior() if not each.agrees] == []


def test_a_median_far_from_the_belief_is_said_to_disagree():
    belief = Belief("current", 0.8, 0.2, "invented", "invented")
    assert Beside(belief, 0.5, 1.1, 1.4).agrees
    assert not Beside(belief, 0.5, 1.3, 1.4).agrees
    assert Beside(belief, 0.5, 1.3, 1.4).apart == pytest.approx(2.5)
