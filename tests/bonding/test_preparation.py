"""Checks before a bonded joint is closed: common practice, so the figures have no source."""

from datetime import UTC, datetime

import pytest

from advisor.bonding.preparation import CHECKS, MARK, Answer, Checked, findings
from advisor.errors import InputError

AT = datetime(2026, 3, 2, 9, tzinfo=UTC)


def checked(key, measured=None, answer=Answer.DONE):
    return Checked(key, answer, measured, "Kim", AT)


def found(*answers):
    return {each.check.key: each for each in findings(answers)}


def test_the_figures_are_marked_as_common_practice():
    assert MARK == "common practice, no source"
    limits = {c.key: (c.at_least, c.below) for c in CHECKS if c.is_measured}
    assert limits == {
        "edge_bevel": (None, 10.0),
        "backer_width": (50.0, None),
        "backer_lap": (25.0, None),
    }


def test_until_somebody_looks_nothing_is_right():
    assert not any(each.is_right for each in findings(()))
    assert {each.text for each in findings(())} == {"nobody has looked yet"}


@pytest.mark.parametrize(
    ("key", "measured", "is_right", "text"),
    [
        ("backer_width", 50.0, True, "50 mm"),
        ("backer_width", 46.5, False, "46.5 mm, 3.5 mm less than the 50 mm wanted"),
        ("backer_lap", 25.0, True, "25 mm"),
        ("backer_lap", 22.0, False, "22 mm, 3 mm less than the 25 mm wanted"),
        ("edge_bevel", 9.9, True, "9.9 °"),
        ("edge_bevel", 10.0, False, "10 °, not under the limit of 10 °"),
        ("edge_bevel", 12.0, False, "12 °, 2 ° more than the limit of 10 °"),
    ],
)
def test_out_of_tolerance_says_by_how_much(key, measured, is_right, text):
    one = found(checked(key, measured))[key]
    assert (one.is_right, one.text) == (is_right, text)


def test_the_newest_answer_counts_and_not_needed_is_right():
    answers = (checked("backer_width", 40.0), checked("backer_width", 52.0))
    assert found(*answers)["backer_width"].is_right
    assert not found(*reversed(answers))["backer_width"].is_right
    assert found(checked("backer_whole", answer=Answer.NOT_NEEDED))["backer_whole"].is_right
    assert not found(checked("dust_off", answer=Answer.OPEN))["dust_off"].is_right


def test_a_check_with_a_reading_wants_it():
    with pytest.raises(InputError, match="backer plate width has no reading; measure it"):
        checked("backer_width")
    with pytest.raises(InputError, match="bevel is -3 °; it must be 0 to 1000"):
        checked("edge_bevel", -3.0)
    with pytest.raises(InputError, match="no check 'paint'; known: faces_bare"):
        checked("paint")
    assert checked("backer_width", None, Answer.NOT_NEEDED).measured is None
