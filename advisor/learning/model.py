"""The model of one machine: the prior of the published table, moved by the machine's coupons."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Self

import numpy as np
import pandas as pd

from advisor.coupons.joint import LoggedCoupon
from advisor.coupons.rules import ShopRules
from advisor.errors import InputError
from advisor.learning.features import (
    FEATURES,
    Floats,
    LeftOut,
    coupon_rows,
    inputs,
    root_governing,
)
from advisor.learning.prior import Prior, load_prior
from advisor.weld.electrode import Electrode
from advisor.weld.stack import Stack

if TYPE_CHECKING:
    from advisor.learning.regression import ConjugateRegression

#: Share of new coupons that the interval of a prediction should hold.
LEVEL = 0.9
SETTING_COLUMNS = ("current_kA", "weld_ms", "force_kN")


class MachineModel:
    """Weld size on one machine.

    Parameters
    ----------
    rules : ShopRules
        The shop's rules.
    prior : Prior or None
        Beliefs before any coupon; None for those the tool is shipped with.

    Attributes
    ----------
    n_coupons : int
        Coupons that taught the model; 0 before `fit`.
    left_out : LeftOut
        Coupons that could not.
    machine : str
        Machine they were made on; empty when there were none.

    Notes
    -----
    Before `fit`, or fitted to nothing, it predicts from the prior. The interfaces of one coupon
    count as separate welds, which makes three-sheet coupons weigh a little too much.
    """

    def __init__(self, rules: ShopRules, prior: Prior | None = None) -> None:
        self.rules = rules
        self.prior = prior or load_prior()
        self.n_coupons = 0
        self.left_out = LeftOut()
        self.machine = ""
        self._fitted: ConjugateRegression | None = None

    def fit(self, coupons: Sequence[LoggedCoupon]) -> Self:
        """Learn from the coupons of one machine.

        Parameters
        ----------
        coupons : sequence of LoggedCoupon
            Coupons in any order.

        Returns
        -------
        MachineModel
            Itself.

        Raises
        ------
        InputError
            Coupons of more than one machine.
        """
        machines = sorted({logged.coupon.machine for logged in coupons})
        if len(machines) > 1:
            raise InputError(
                f"the coupons are of {len(machines)} machines ({', '.join(machines)}); a model "
                "learns from one machine: choose its coupons"
            )
        self.machine = machines[0] if machines else ""
        rows = coupon_rows(coupons, self.rules)
        self.n_coupons, self.left_out = rows.n_coupons, rows.left_out
        self._fitted = regression_from(self.prior).fit(rows.inputs, rows.response)
        return self

    @property
    def regression(self) -> ConjugateRegression:
        """The regression behind the predictions, in logarithms."""
        if self._fitted is None:
            nothing = coupon_rows((), self.rules)
            self._fitted = regression_from(self.prior).fit(nothing.inputs, nothing.response)
        return self._fitted

    def predict(self, stack: Stack, electrode: Electrode, settings: pd.DataFrame) -> pd.DataFrame:
        """Predict the size of a weld without expulsion at the stack's weakest interface.

        Parameters
        ----------
        stack : Stack
            The stack, either way up.
        electrode : Electrode
            Caps as dressed.
        settings : DataFrame of shape (n_settings, ...)
            Columns ``current_kA``, ``weld_ms``, ``force_kN``. [kA], [ms], [kN]

        Returns
        -------
        DataFrame of shape (n_settings, 5)
            Index as `settings`. ``size_mm``: median. ``low_mm``, ``high_mm``: ends of the 90 %
            interval of one new coupon. ``minimum_mm``: the shop's minimum. ``chance``: of reaching
            it, 0 to 1. All at the interface with the smallest chance, chosen for each setting.

        Raises
        ------
        NoAdviceError
            Nothing published for this stack.

        Notes
        -----
        With several interfaces the chance that *all* reach their minimum is at most ``chance``.
        """
        dialled = settings[list(SETTING_COLUMNS)].to_numpy(float)
        found = inputs(stack, electrode, dialled, self.rules)
        shape = found.shape[:2]
        flat = found.reshape(-1, len(FEATURES))
        root = root_governing(stack, self.rules)[:, None]
        minimum = self._minimum_mm(stack)[:, None]
        bound = np.broadcast_to(np.log(minimum / root), shape).ravel()
        low, high = self.regression.predict_interval(flat, LEVEL)
        by_interface = {
            "size_mm": np.exp(self.regression.predict(flat)).reshape(shape) * root,
            "low_mm": np.exp(low).reshape(shape) * root,
            "high_mm": np.exp(high).reshape(shape) * root,
            "minimum_mm": np.broadcast_to(minimum, shape),
            "chance": self.regression.probability_above(flat, bound).reshape(shape),
        }
        weakest = np.argmin(by_interface["chance"], axis=0)[None, :]
        columns = {
            name: np.take_along_axis(values, weakest, axis=0)[0]
            for name, values in by_interface.items()
        }
        return pd.DataFrame(columns, index=settings.index)

    def _minimum_mm(self, stack: Stack) -> Floats:
        stack, rule = stack.canonical(), self.rules.judging.size
        return np.array([rule.minimum_mm(stack, i) for i in range(len(stack.interfaces))])

    def off_table(self, coupons: Sequence[LoggedCoupon]) -> dict[int, float]:
        """Return how far coupons came out from what the table alone leads to expect.

        Parameters
        ----------
        coupons : sequence of LoggedCoupon
            Coupons in any order.

        Returns
        -------
        dict of int to float
            Coupon number to log(measured / expected at its own setting), the mean over its
            measured interfaces; coupons that teach nothing are absent.
        """
        rows = coupon_rows(coupons, self.rules)
        expected = self.prior.size_at_start.mean + rows.inputs @ self.prior.slope_means
        off = pd.Series(rows.response - expected, index=list(rows.numbers), dtype=float)
        return {
            int(str(number)): float(mean) for number, mean in off.groupby(level=0).mean().items()
        }


def regression_from(prior: Prior) -> ConjugateRegression:
    """Return an unfitted regression with this prior."""
    # Imported here: scikit-learn adds half a second to the start of the app.
    from advisor.learning.regression import ConjugateRegression

    return ConjugateRegression(
        intercept_mean=prior.size_at_start.mean,
        intercept_sd=prior.size_at_start.sd,
        coef_mean=prior.slope_means,
        coef_sd=prior.slope_sds,
        noise_sd=prior.noise_sd,
        noise_dof=prior.noise_dof,
    )
