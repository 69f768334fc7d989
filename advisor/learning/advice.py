"""All that is advised for one stack on one machine: setting, next coupon, window."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import pandas as pd

from advisor.coupons.joint import LoggedCoupon
from advisor.coupons.rules import ShopRules
from advisor.learning.bench import Bench
from advisor.learning.model import MachineModel
from advisor.learning.next_coupon import NextCoupon, choose_coupon
from advisor.learning.reach import question
from advisor.learning.sound import Expected
from advisor.learning.suggestion import Suggestion, suggest
from advisor.learning.window import window_over_force, window_over_time
from advisor.weld.electrode import Electrode
from advisor.weld.machine import Machine
from advisor.weld.setting import Setting
from advisor.weld.stack import Stack


class Advice:
    """Advice for coupons of one stack on one machine; never for the vehicle.

    Parameters
    ----------
    model : MachineModel
        Model of the machine, fitted to `coupons`.
    stack : Stack
        The stack, either way up.
    machine : Machine
        Its limits and dials.
    electrode : Electrode
        Caps as dressed.
    rules : ShopRules
        The shop's rules.
    coupons : sequence of LoggedCoupon
        Coupons of the machine, in any order.

    Raises
    ------
    NoAdviceError
        Nothing published for this stack, or the machine is too weak or too strong for it.
    InputError
        The model is of another machine, or the shop's size rule says nothing about this number of
        sheets.
    """

    def __init__(
        self,
        model: MachineModel,
        stack: Stack,
        machine: Machine,
        electrode: Electrode,
        rules: ShopRules,
        coupons: Sequence[LoggedCoupon],
    ) -> None:
        self._bench = Bench(question(stack, machine, electrode, rules, coupons), model)

    @cached_property
    def suggestion(self) -> Suggestion:
        """The setting most likely to give a sound weld, and why."""
        return suggest(self._bench)

    @cached_property
    def next_coupon(self) -> NextCoupon:
        """Which coupon to weld next, or that it is enough."""
        return choose_coupon(self._bench)

    @property
    def kin(self) -> tuple[LoggedCoupon, ...]:
        """The machine's coupons of this kind of stack that count, oldest first."""
        return self._bench.asked.kin

    def expected(self, setting: Setting) -> Expected:
        """Return what one coupon at a setting should give.

        Parameters
        ----------
        setting : Setting
            What is dialled.
        """
        asked = self._bench.asked
        return self._bench.outlook.expected(asked.stack, asked.electrode, setting)

    def window_over_time(self, points: int = 100) -> pd.DataFrame:
        """Return the window over current and weld time around the suggestion.

        Parameters
        ----------
        points : int
            Values of each quantity, 2 or more.

        Returns
        -------
        DataFrame of shape (points², 6)
            As `advisor.learning.window.window_over_time`.
        """
        return window_over_time(self._bench, self.suggestion.setting, points)

    def window_over_force(self, points: int = 100) -> pd.DataFrame:
        """Return the window over current and force around the suggestion.

        Parameters
        ----------
        points : int
            Values of each quantity, 2 or more.

        Returns
        -------
        DataFrame of shape (points², 6)
            As `advisor.learning.window.window_over_force`.
        """
        return window_over_force(self._bench, self.suggestion.setting, points)
