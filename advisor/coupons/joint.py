"""A place on the vehicle to be welded, and a coupon as the log holds it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from advisor.coupons.coupon import Coupon
from advisor.coupons.verdict import Verdict
from advisor.errors import InputError
from advisor.language import say
from advisor.weld.electrode import Electrode
from advisor.weld.setting import Setting
from advisor.weld.stack import Stack


@dataclass(frozen=True)
class Joint:
    """One joint of a job.

    Parameters
    ----------
    name : str
        Where it is, for example ``sill flange, outer``.
    job : str
        Repair order.
    stack : Stack
        Sheets and interfaces as they will be welded.
    machine : str
        Machine planned for it.
    setting : Setting or None
        Setting planned for it; None until the coupons decide.
    welds : int or None
        Number of original welds.
    pitch_mm : float or None
        Pitch of the original welds. [mm]
    """

    name: str
    job: str
    stack: Stack
    machine: str
    setting: Setting | None = None
    welds: int | None = None
    pitch_mm: float | None = None

    def __post_init__(self) -> None:
        if not self.name.strip():
            raise InputError(
                say("the joint has no name; say where it is, such as 'sill flange, outer'")
            )
        if not self.job.strip():
            raise InputError(say("the joint has no job; give the repair-order number"))
        if self.welds is not None and not 1 <= self.welds <= 1000:
            raise InputError(
                say("number of original welds is {welds}; it must be 1 to 1000", welds=self.welds)
            )
        if self.pitch_mm is not None and not 5 <= self.pitch_mm <= 500:
            raise InputError(
                say(
                    "pitch of the original welds is {pitch:g} mm; it must be 5 to 500 mm",
                    pitch=self.pitch_mm,
                )
            )


@dataclass(frozen=True)
class Bench:
    """The state of a machine now: what is fitted, and since when.

    Parameters
    ----------
    machine : str
        The machine.
    electrode : Electrode or None
        Caps fitted now; None when the shop has not said.
    fitted_at : datetime or None
        When these caps were put on (a new cap ends the coverage of coupons made before).
    repaired_at : datetime or None
        Last repair of the machine (likewise).
    """

    machine: str
    electrode: Electrode | None = None
    fitted_at: datetime | None = None
    repaired_at: datetime | None = None


@dataclass(frozen=True)
class LoggedCoupon:
    """A coupon as it stands in the log.

    Parameters
    ----------
    number : int
        Number of the coupon in the shop.
    coupon : Coupon
        Its newest revision.
    verdict : Verdict
        As recorded with that revision.
    revision : int
        1 for the first entry.
    voided : str
        Why it does not count any more; empty when it counts.
    origin : str
        Where it came from when it was not written down at the bench, for example ``imported``.
    """

    number: int
    coupon: Coupon
    verdict: Verdict
    revision: int = 1
    voided: str = ""
    origin: str = ""
