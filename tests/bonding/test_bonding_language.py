"""Adhesive and preparation in the reader's language."""

from datetime import UTC, datetime

import pytest

from advisor.bonding.adhesive import Span
from advisor.bonding.preparation import CHECKS, Answer, Checked, findings
from advisor.errors import InputError
from advisor.language import speaking

NOW = datetime(2026, 3, 2, 8, tzinfo=UTC)


def test_checks_and_how_they_stand_follow_the_language(pseudo):
    narrow = Checked("backer_width", Answer.DONE, 48.5, "Kim", NOW)
    with speaking("de"):
        found = {each.check.key: each for each in findings((narrow,))}
        width = found["backer_width"]
        assert width.check.text == "⟦Backer plate 50 mm wide.⟧"
        assert width.text == "⟦48,5 mm, 1,5 mm less than the 50 mm wanted⟧"
        assert found["dry_fit"].text == "⟦nobody has looked yet⟧"
    assert width.check.text == width.check.english == "Backer plate 50 mm wide."


def test_every_check_keeps_its_key_and_its_english(pseudo):
    with speaking("de"):
        assert all("⟦" not in each.key + each.english + each.measures for each in CHECKS)
        assert [each.is_measured for each in CHECKS] == [bool(each.measures) for each in CHECKS]


def test_a_wrong_time_is_refused_in_the_language(pseudo):
    with speaking("de"), pytest.raises(InputError, match=r"⟦the time range .* \(20\.160 min\)⟧"):
        Span(30, 10)
