"""Two versions of a record side by side: only what differs, in words."""

from dataclasses import replace

import pytest
from store_examples import BY, NOW, PASSING

from advisor.coupons.coupon import InterfaceResult
from advisor.errors import LostRaceError
from advisor.store.race import ANYTHING, check_start, side_by_side
from advisor.weld.failure import FailureType
from advisor.weld.machine import Machine

GUN = Machine("gun", 13, 5)


def test_only_what_differs_is_said():
    theirs = replace(
        PASSING,
        results=(InterfaceResult(4.6, 5.0, FailureType.INTERFACE),),
        expulsion=True,
        notes="x",
    )
    mine = replace(PASSING, results=(InterfaceResult(4.3, 5.0, FailureType.BUTTON),))
    said = side_by_side(theirs, mine)
    assert said.split("; ") == [
        "results 1, smallest mm: stored 4.6, yours 4.3",
        f"results 1, failure: stored {FailureType.INTERFACE.label}, "
        f"yours {FailureType.BUTTON.label}",
        "expulsion: stored yes, yours no",
        "notes: stored x, yours nothing",
    ]


@pytest.mark.parametrize(
    ("started", "stored", "mine"),
    [
        (GUN, GUN, replace(GUN, largest_force_kN=6)),
        (GUN, replace(GUN, largest_force_kN=6), replace(GUN, largest_force_kN=6)),
        (None, None, GUN),
        (ANYTHING, replace(GUN, largest_force_kN=6), GUN),
    ],
    ids=["nobody changed it", "both did the same", "new", "not compared"],
)
def test_nobody_is_held_up_for_nothing(started, stored, mine):
    check_start("machine gun", started, stored, mine)


def test_a_second_machine_of_one_name_is_seen():
    with pytest.raises(LostRaceError, match="largest force kN: stored 6, yours 5"):
        check_start("machine gun", None, replace(GUN, largest_force_kN=6), GUN)


def test_a_correction_says_which_revision_came_in_between(log):
    number = log.add_coupon(PASSING, "Kim", NOW).number
    log.correct_coupon(number, replace(PASSING, notes="theirs"), BY, "first", NOW)
    with pytest.raises(
        LostRaceError, match=r"#1 was corrected .* \(revision 2 now\).*notes: stored"
    ):
        log.correct_coupon(number, replace(PASSING, notes="mine"), BY, "second", NOW, revision=1)
    assert log.coupon(number).coupon.notes == "theirs"
