"""How much doubt about the window is left, and how much of it a coupon would take away."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime

import numpy as np

from advisor.coupons.coupon import Coupon, InterfaceResult
from advisor.coupons.joint import LoggedCoupon
from advisor.coupons.verdict import judge
from advisor.learning.features import Floats
from advisor.learning.reach import Question
from advisor.learning.sound import Outlook
from advisor.weld.failure import FailureType
from advisor.weld.setting import CURRENT_STEP_KA, Setting

#: The three sizes a coupon may come out with, and how likely each is: a three-point Gauss–Hermite
#: rule, whose outer points at ±1.73 standard deviations are near the ends of the 90 % interval.
_SIZES = {"low_mm": 1 / 6, "size_mm": 2 / 3, "high_mm": 1 / 6}
#: What expulsion leaves of the size: 4.81 of 5.22 mm in a measured growth curve
#: (``growth-curve-dp12-if08`` in the sources).
_AFTER_EXPULSION = 0.92
#: Diameters that a coupon can hold. [mm]
_MEASURABLE_MM = (0.5, 20.0)


class Doubt:
    """Doubt about the currents worth using: p(1 − p) summed over them, p being "sound".

    Parameters
    ----------
    outlook : Outlook
        Models of the machine.
    asked : Question
        What a setting is wanted for; its coupons taught the models.
    settings : ndarray of shape (n_settings, 3)
        Settings worth using, one dial step of current apart. [kA], [ms], [kN]
    """

    def __init__(self, outlook: Outlook, asked: Question, settings: Floats) -> None:
        self.outlook = outlook
        self.asked = asked
        self.settings = settings

    def now_kA(self) -> float:
        """Return the doubt left; a wholly open 1 kA counts 0.25. [kA]."""
        return self._doubt(self.outlook)

    def after_kA(self, setting: Setting) -> float:
        """Return the doubt to expect after one more coupon.

        The coupon is welded in thought, once for every way it may come out, and the models are
        taught it each time.

        Parameters
        ----------
        setting : Setting
            Setting of that coupon.

        Returns
        -------
        float
            Expected doubt. [kA]
        """
        left = 0.0
        for chance, coupon in self._outcomes(setting):
            logged = LoggedCoupon(0, coupon, judge(coupon, self.asked.rules.judging))
            coupons = [*self.asked.coupons, logged]
            size = self.outlook.size.with_another(logged)
            left += chance * self._doubt(Outlook(size, coupons))
        return float(left)

    def _doubt(self, outlook: Outlook) -> float:
        asked = self.asked
        sound = outlook.chances(asked.stack, asked.electrode, self.settings).sound
        return float(np.sum(sound * (1 - sound)) * CURRENT_STEP_KA)

    def _outcomes(self, setting: Setting) -> Iterator[tuple[float, Coupon]]:
        asked = self.asked
        found = self.outlook.expected(asked.stack, asked.electrode, setting)
        expulsion, minimum = found.chance_expulsion, found.minimum_mm
        for name, chance in _SIZES.items():
            over = getattr(found, name) / minimum
            yield chance * (1 - expulsion), self._coupon(setting, over, expulsion=False)
        shrunk = _AFTER_EXPULSION * (found.size_mm / minimum)
        yield expulsion, self._coupon(setting, shrunk, expulsion=True)

    def _coupon(self, setting: Setting, over_minimum: float, *, expulsion: bool) -> Coupon:
        """Return a coupon whose size is the same multiple of the minimum at every interface."""
        asked, rule = self.asked, self.asked.rules.judging.size
        sizes = [
            float(np.clip(over_minimum * rule.minimum_mm(asked.stack, index), *_MEASURABLE_MM))
            for index in range(len(asked.stack.interfaces))
        ]
        return Coupon(
            made_at=datetime.now(UTC),
            welder="imagined",
            machine=asked.machine.name,
            electrode=asked.electrode,
            stack=asked.stack,
            setting=setting,
            results=tuple(InterfaceResult(size, size, FailureType.BUTTON) for size in sizes),
            expulsion=expulsion,
        )
