"""What has to be right before a bonded joint is welded. Common practice, no source.

The makers' procedures come first: where they name another figure, it is the one that counts.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime

from advisor.errors import InputError
from advisor.language import figure, msg, say
from advisor.weld.words import TradeWord

MARK = msg("common practice, no source")
#: Of every joint, bonded or not.
SPACING = msg(
    "New welds keep the original spacing, as near the original place as possible, never over an "
    "original weld."
)


class Answer(TradeWord):
    """What was found."""

    DONE = "done", msg("done")
    OPEN = "open", msg("not done")
    NOT_NEEDED = "not_needed", msg("not needed here")


@dataclass(frozen=True)
class Check:
    """One thing to be right before a joint is closed.

    Parameters
    ----------
    key : str
        Name in the log; it stays when the words change.
    english : str
        What is right, as a message for `say`.
    measures : str
        What is measured, likewise, or empty where there is nothing to measure.
    unit : str
        Its unit, ``mm`` or ``°``.
    at_least, below : float or None
        Limits of what is measured. [unit]
    """

    key: str
    english: str
    measures: str = ""
    unit: str = ""
    at_least: float | None = None
    below: float | None = None

    @property
    def text(self) -> str:
        """What is right, in the language spoken."""
        return say(self.english)

    @property
    def quantity(self) -> str:
        """What is measured, in the language spoken."""
        return say(self.measures)

    @property
    def is_measured(self) -> bool:
        """Whether the answer is a number."""
        return bool(self.measures)


#: In the order of the work. Every figure is common practice without a published source.
CHECKS = (
    Check(
        "faces_bare",
        msg(
            "Bond faces ground to bare metal on both parts, zinc and e-coat gone; the coupon is "
            "ground the same way."
        ),
    ),
    Check("dust_off", msg("Grinding dust blown off.")),
    Check("dry_fit", msg("Fit-up tried without adhesive.")),
    Check("edge_bevel", msg("Mating edges bevelled under 10°."), msg("bevel"), "°", below=10.0),
    Check(
        "backer_width",
        msg("Backer plate 50 mm wide."),
        msg("backer plate width"),
        "mm",
        at_least=50.0,
    ),
    Check(
        "backer_lap",
        msg("Backer plate laps 25 mm on each side of the seam."),
        msg("smaller lap"),
        "mm",
        at_least=25.0,
    ),
    Check("backer_whole", msg("Backer plate covers the whole seam.")),
    Check("clamps_insulated", msg("Clamps insulated while welding.")),
    Check(
        "slid_in",
        msg("Panel not lifted off again once it lies in wet adhesive; moved by sliding only."),
    ),
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
            raise InputError(
                say(
                    "there is no check {key!r}; known: {known}",
                    key=self.key,
                    known=", ".join(_BY_KEY),
                )
            )
        if check.is_measured and self.answer is Answer.DONE:
            self._check_reading(check)

    def _check_reading(self, check: Check) -> None:
        if self.measured is None:
            raise InputError(
                say(
                    "{quantity} has no reading; measure it and give it in {unit}",
                    quantity=check.quantity,
                    unit=check.unit,
                )
            )
        if not (math.isfinite(self.measured) and 0 <= self.measured <= 1000):
            raise InputError(
                say(
                    "{quantity} is {measured:g} {unit}; it must be 0 to 1000",
                    quantity=check.quantity,
                    measured=self.measured,
                    unit=check.unit,
                )
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
        return Finding(check, None, False, say("nobody has looked yet"))
    if checked.answer is not Answer.DONE:
        return Finding(check, checked, checked.answer is Answer.NOT_NEEDED, checked.answer.label)
    if not check.is_measured or checked.measured is None:
        return Finding(check, checked, True, checked.answer.label)
    off = _off(check, checked.measured)
    reading = f"{figure(checked.measured, 'g')} {check.unit}"
    return Finding(check, checked, not off, off or reading)


def _off(check: Check, measured: float) -> str:
    """Say by how much a reading is out of tolerance; empty where it is within."""
    unit, least, below = check.unit, check.at_least, check.below
    if least is not None and measured < least:
        return say(
            "{measured:g} {unit}, {short:.3g} {unit} less than the {least:g} {unit} wanted",
            measured=measured,
            unit=unit,
            short=least - measured,
            least=least,
        )
    if below is not None and measured >= below:
        over = measured - below
        message = _OVER if over else _AT_THE_LIMIT
        return say(message, measured=measured, unit=unit, over=over, limit=below)
    return ""


_OVER = msg("{measured:g} {unit}, {over:.3g} {unit} more than the limit of {limit:g} {unit}")
_AT_THE_LIMIT = msg("{measured:g} {unit}, not under the limit of {limit:g} {unit}")
