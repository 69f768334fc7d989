"""The chance of a sound weld: it reaches the minimum everywhere and throws no metal out.

What is dialled is not quite what flows. Coupons are welded with that error too, so the chances at a
tested setting hold it already. A setting is *chosen*, though, by its chance averaged over an error
spread evenly over ±3 % of the current (from memory): between two edges that are not well known yet,
the steady middle is better than a peak beside a cliff.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from advisor.coupons.joint import LoggedCoupon
from advisor.coupons.rules import ExpulsionRule
from advisor.learning.expulsion import ExpulsionModel
from advisor.learning.features import Floats
from advisor.learning.model import MachineModel, as_frame
from advisor.weld.electrode import Electrode
from advisor.weld.setting import Setting
from advisor.weld.stack import Stack

#: Set-point error, as a share of the current (from memory).
SETPOINT = 0.03
#: Simpson's rule over the error: at the low end, as dialled, at the high end.
_SPREAD = (1 - SETPOINT, 1.0, 1 + SETPOINT)
_SHARE = np.array([1, 4, 1]) / 6


@dataclass(frozen=True)
class Chances:
    """Chances of one weld at each of some settings.

    Parameters
    ----------
    minimum : ndarray of shape (n_settings,)
        Of reaching the minimum at the weakest interface, 0 to 1.
    expulsion : ndarray of shape (n_settings,)
        Of throwing metal out, 0 to 1.
    sound : ndarray of shape (n_settings,)
        Of a sound weld by the shop's rules, 0 to 1.
    """

    minimum: Floats
    expulsion: Floats
    sound: Floats


@dataclass(frozen=True)
class Expected:
    """What one weld at one setting should give.

    Parameters
    ----------
    size_mm, low_mm, high_mm, minimum_mm : float
        As `MachineModel.predict` gives them. [mm]
    chance_expulsion, chance_sound : float
        Of throwing metal out, and of a sound weld by the shop's rules, 0 to 1.
    """

    size_mm: float
    low_mm: float
    high_mm: float
    minimum_mm: float
    chance_expulsion: float
    chance_sound: float


def as_row(setting: Setting) -> Floats:
    """Return a setting as one row: current, weld time, force. [kA], [ms], [kN]."""
    return np.array([[setting.current_kA, setting.weld_ms, setting.force_kN]])


class Outlook:
    """What one machine is expected to do, size and expulsion together.

    Parameters
    ----------
    size : MachineModel
        Model of the weld size, fitted to `coupons`.
    coupons : sequence of LoggedCoupon
        Coupons of the machine; they teach the model of expulsion.

    Notes
    -----
    Given the setting, size and expulsion count as independent: a weld that grows large for its
    setting also expels more, which makes the chance of a sound weld a little too small.
    """

    def __init__(self, size: MachineModel, coupons: Sequence[LoggedCoupon] = ()) -> None:
        self.size = size
        self.expulsion = ExpulsionModel(size.rules).fit(coupons, size.off_table)

    def chances(self, stack: Stack, electrode: Electrode, settings: Floats) -> Chances:
        """Return the chances at settings.

        Parameters
        ----------
        stack : Stack
            The stack, either way up.
        electrode : Electrode
            Caps as dressed.
        settings : ndarray of shape (n_settings, 3)
            Current, weld time and force. [kA], [ms], [kN]

        Returns
        -------
        Chances
            One of each a setting.

        Raises
        ------
        NoAdviceError
            Nothing published for this stack.
        """
        minimum = self.size.chances(stack, electrode, settings)
        expulsion = self.expulsion.probability(stack, electrode, settings)
        return Chances(minimum, expulsion, self.sound(minimum, expulsion))

    def expected(self, stack: Stack, electrode: Electrode, setting: Setting) -> Expected:
        """Return size and chances of one weld.

        Parameters
        ----------
        stack : Stack
            The stack, either way up.
        electrode : Electrode
            Caps as dressed.
        setting : Setting
            What is dialled.
        """
        dialled = as_row(setting)
        chances = self.chances(stack, electrode, dialled)
        size = self.size.predict(stack, electrode, as_frame(dialled)).iloc[0]
        return Expected(
            size_mm=float(size["size_mm"]),
            low_mm=float(size["low_mm"]),
            high_mm=float(size["high_mm"]),
            minimum_mm=float(size["minimum_mm"]),
            chance_expulsion=float(chances.expulsion[0]),
            chance_sound=float(chances.sound[0]),
        )

    def sound(self, minimum: Floats, expulsion: Floats) -> Floats:
        """Return the chance of a sound weld by the shop's rules, given those of its two parts."""
        if self.size.rules.judging.expulsion is ExpulsionRule.FAILS:
            return minimum * (1 - expulsion)
        return minimum

    def steady_sound(self, stack: Stack, electrode: Electrode, settings: Floats) -> Floats:
        """Return the chance of a sound weld, averaged over the set-point error.

        Parameters
        ----------
        stack : Stack
            The stack, either way up.
        electrode : Electrode
            Caps as dressed.
        settings : ndarray of shape (n_settings, 3)
            Current, weld time and force. [kA], [ms], [kN]

        Returns
        -------
        ndarray of shape (n_settings,)
            Chances, 0 to 1.
        """
        flowing = np.tile(settings, (len(_SPREAD), 1))
        flowing[:, 0] *= np.repeat(_SPREAD, len(settings))
        sound = self.chances(stack, electrode, flowing).sound
        return np.asarray(_SHARE @ sound.reshape(len(_SPREAD), len(settings)))
