"""What has to be right before a bonded joint is welded. Common practice, no source.

The makers' procedures come first: where they name another figure, it is the one that counts.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime

from advisor.errors import InputError
from advisor.weld.words import TradeWord

MARK = "common practice, no source"
#: Of every joint, bonded or not.
SPACING = (
    "New welds keep the original spacing, as near the original place as possible, never over an "
    "original weld."
)


class Answer(TradeWord):
    """What was found."""

    DONE = "done", "done"
    OPEN = "open", "not done"
    NOT_NEEDED = "not_needed", "not needed here"


@dataclass(frozen=True)
class Check:
    """One thing to be right before a joint is closed.

    Parameters
    ----------
    key : str
        Name in the log; it stays when the words change.
    text : str
        What is right.
    quantity : str
        What is measured, or empty where there is nothing to measure.
    unit : str
        Its unit, ``mm`` or ``°``.
    at_least, below : float or None
        Limits of what is measured. [unit]
    """

    key: str
    text: str
    quantity: str = ""
    unit: str = ""
    at_least: float | None = None
    below: float | None = None

    @property
    def is_measured(self) -> bool:
        """Whether the answer is a number."""
        return bool(self.quantity)


#: In the order of the work. Every figure is common practice without a published source.
CHECKS = (
    Check(
        "faces_bare",
        "Bond faces ground to bare metal on both parts, zinc and e-coat gone; the coupon is ground "
        "the same way.",
    ),
    Check("dust_off", "Grinding dust blown off."),
    Check("dry_fit", "Fit-up tried without adhesive."),
    Check("edge_bevel", "Mating edges bevelled under 10°.", "bevel", "°", below=10.0),
    Check("backer_width", "Backer plate 50 mm wide.", "backer plate width", "mm", at_least=50.0),
    Check(
        "backer_lap",
        "Backer plate laps 25 mm on each side of the seam.",
        "smaller lap",
        "mm",
        at_least=25.0,
    ),
    Check("backer_whole", "Backer plate covers the whole seam."),
    Check("clamps_insulated", "Clamps insulated while welding."),
    Check("slid_in", "Panel slid, never lifted, once it is set in wet adhesive."),
)
_BY_KEY = {check.key: check for check in CHECKS}


@dataclass(frozen=True)
class Checked:
    """An answer to a check, by a person.

    Parameters
    ----------
    key : str
        The check.
    answer : Answer
        What was found.
    measured : float or None
        Reading, where the check has one. [the check's unit]
    by : str
        Who looked.
    at : datetime
        When.

    Raises
    ------
    InputError
        No such check, or a reading that is missing or no reading at all.
    """

    key: str
    answer: Answer
    measured: float | None
    by: str
    at: datetime

    def __post_init__(self) -> None:
        check = _BY_KEY.get(self.key)
        if check is None:
            raise InputError(f"there is no check {self.key!r}; known: {', '.join(_BY_KEY)}")
        if not check.is_measured or self.answer is not Answer.DONE:
            return
        if self.measured is None:
            raise InputError(
                f"{check.quantity} has no reading; measure it and give it in {check.unit}"
            )
        if not (math.isfinite(self.measured) and 0 <= self.measured <= 1000):
            raise InputError(
                f"{check.quantity} is {self.measured:g} {check.unit}; it must be 0 to 1000"
            )


@dataclass(frozen=True)
class Finding:
    """A check and how it stands.

    Parameters
    ----------
    check : Check
        The check.
    checked : Checked or None
        The newest answer; None where nobody has looked yet.
    is_right : bool
        Done and within its limits, or not needed.
    text : str
        How it stands, in words and numbers.
    """

    check: Check
    checked: Checked | None
    is_right: bool
    text: str


def findings(answers: tuple[Checked, ...]) -> tuple[Finding, ...]:
    """Return how every check stands, by its newest answer.

    Parameters
    ----------
    answers : tuple of Checked
        Answers of one joint, oldest first.
    """
    newest = {each.key: each for each in answers}
    return tuple(_finding(check, newest.get(check.key)) for check in CHECKS)


def _finding(check: Check, checked: Checked | None) -> Finding:
    if checked is None:
        return Finding(check, None, False, "nobody has looked yet")
    if checked.answer is not Answer.DONE:
        return Finding(check, checked, checked.answer is Answer.NOT_NEEDED, checked.answer.label)
    if not check.is_measured or checked.measured is None:
        return Finding(check, checked, True, checked.answer.label)
    off = _off(check, checked.measured)
    reading = f"{checked.measured:g} {check.unit}"
    return Finding(check, checked, not off, f"{reading}{off}")


def _off(check: Check, measured: float) -> str:
    """Return by how much a reading is out of tolerance, empty where it is within."""
    unit, least = check.unit, check.at_least
    if least is not None and measured < least:
        return f", {least - measured:.3g} {unit} less than the {least:g} {unit} wanted"
    if check.below is not None and measured >= check.below:
        over = measured - check.below
        more = f"{over:.3g} {unit} more than" if over else "not under"
        return f", {more} the limit of {check.below:g} {unit}"
    return ""
