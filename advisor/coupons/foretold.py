"""What the advisor said of a coupon before it was welded, kept to see whether it was right."""

from __future__ import annotations

from dataclasses import dataclass

from advisor.errors import InputError
from advisor.language import msg, say


@dataclass(frozen=True)
class Foretold:
    """What was said of one coupon beforehand.

    Parameters
    ----------
    chance_sound : float
        Of a sound weld by the shop's rules, 0 to 1.
    chance_expulsion : float
        Of throwing metal out, 0 to 1.
    coupons_known : int
        Coupons of the machine that it was drawn from.
    """

    chance_sound: float
    chance_expulsion: float
    coupons_known: int

    def __post_init__(self) -> None:
        for message, chance in (
            (msg("the chance of a sound weld is {chance:g}; it must be 0 to 1"), self.chance_sound),
            (
                msg("the chance of expulsion is {chance:g}; it must be 0 to 1"),
                self.chance_expulsion,
            ),
        ):
            if not 0 <= chance <= 1:
                raise InputError(say(message, chance=chance))
        if self.coupons_known < 0:
            raise InputError(
                say("{count} coupons cannot be known; 0 or more can", count=self.coupons_known)
            )
