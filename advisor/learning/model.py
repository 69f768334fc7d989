"""The model of one machine: the prior of the published table, moved by the machine's coupons."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from copy import copy
from typing import Self

import numpy as np
import pandas as pd

from advisor.coupons.joint import LoggedCoupon
from advisor.coupons.rules import ShopRules
from advisor.errors import InputError
from advisor.language import say
from advisor.learning.censoring import add_bounds
from advisor.learning.features import (
    SLOPES,
    Floats,
    LeftOut,
    Rows,
    coupon_rows,
    inputs,
    latest_wear,
    response_of,
    root_governing,
    size_over_root,
)
from advisor.learning.mixture import Mixture, learn, with_intercept
from advisor.learning.pooling import with_shop
from advisor.learning.prior import Prior, Views, load_prior
from advisor.weld.electrode import Electrode
from advisor.weld.stack import Stack

#: Share of new coupons that the interval of a prediction should hold. Choice of this project: nine
#: in ten is said easily at a bench.
LEVEL = 0.9
SETTING_COLUMNS = ("current_kA", "weld_ms", "force_kN")
_CURRENT = SLOPES.index("current")
#: How much slopes differ between machines of one shop, over the widths of the prior (from memory).
_BETWEEN_SLOPES = 0.5
#: Smallest size over √t that the table is taken to expect anywhere. [mm^0.5]
_LEAST_ROOT = 0.5
#: Rows predicted at once: enough for speed, few enough to stay in the processor's cache.
_CHUNK = 2048


def as_frame(settings: Floats) -> pd.DataFrame:
    """Return settings of shape (n_settings, 3) as `MachineModel.predict` takes them."""
    return pd.DataFrame(settings, columns=list(SETTING_COLUMNS))


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
    n_machines : int
        Other machines of the shop that it started from.

    Notes
    -----
    Before `fit`, or fitted to nothing, it predicts from the prior. The interfaces of one coupon
    count as separate welds, which makes three-sheet coupons weigh a little too much. A coupon
    without a button counts as a size below `NO_BUTTON_ROOT` · √t.
    """

    def __init__(self, rules: ShopRules, prior: Prior | None = None) -> None:
        self.rules = rules
        self.prior = prior or load_prior()
        self.n_coupons = 0
        self.left_out = LeftOut()
        self.machine = ""
        self.n_machines = 0
        self._views = self.prior.views
        self._rows = coupon_rows((), rules)
        self._mixture: Mixture | None = None
        self._welds_since_dressing: int | None = None

    def fit(self, coupons: Sequence[LoggedCoupon], others: Sequence[MachineModel] = ()) -> Self:
        """Learn from the coupons of one machine.

        Parameters
        ----------
        coupons : sequence of LoggedCoupon
            Coupons of the machine, in any order.
        others : sequence of MachineModel
            Models of the shop's other machines, from which a new one starts as far as they agree
            with it, each fitted to its own coupons alone; the machine's own is passed over.

        Returns
        -------
        MachineModel
            Itself.

        Raises
        ------
        InputError
            Coupons of more than one machine, or another model that was itself fitted with others:
            the machines would hear their own coupons back.
        """
        machines = sorted({logged.coupon.machine for logged in coupons})
        if len(machines) > 1:
            raise InputError(
                say(
                    "the coupons are of {count} machines ({machines}); a model learns from one "
                    "machine: choose its coupons",
                    count=len(machines),
                    machines=", ".join(machines),
                )
            )
        self.machine = machines[0] if machines else ""
        taught = [each for each in others if each.n_coupons and each.machine != self.machine]
        self.n_machines = len(taught)
        self._views = self._starting_views(taught)
        self._welds_since_dressing = latest_wear(
            logged.coupon for logged in coupons if not logged.voided
        )
        return self._learn(coupon_rows(coupons, self.rules))

    def _learn(self, rows: Rows) -> Self:
        self._rows = rows
        self.n_coupons, self.left_out = rows.n_coupons, rows.left_out
        self._mixture = mixture_from(self._views, rows)
        return self

    def with_another(self, logged: LoggedCoupon) -> MachineModel:
        """Return a new model that learned from one more coupon of the machine.

        Parameters
        ----------
        logged : LoggedCoupon
            The coupon; electrode wear is taken from it.
        """
        new = copy(self)
        new._welds_since_dressing = logged.coupon.welds_since_dressing
        return new._learn(self._rows.joined(coupon_rows([logged], self.rules)))

    def _starting_views(self, others: Sequence[MachineModel]) -> Views:
        if any(each.n_machines for each in others):
            raise InputError(
                say(
                    "a model of another machine was fitted with others; fit it to its own coupons "
                    "alone"
                )
            )
        between = [self.prior.size_at_start.sd, *_BETWEEN_SLOPES * self.prior.slope_sds]
        return with_shop(self.prior.views, [each.mixture for each in others], np.array(between))

    @property
    def mixture(self) -> Mixture:
        """The regressions behind the predictions of the response."""
        if self._mixture is None:
            self._mixture = mixture_from(self._views, self._rows)
        return self._mixture

    def predict(
        self,
        stack: Stack,
        electrode: Electrode,
        settings: pd.DataFrame,
        *,
        welds_since_dressing: int | None = None,
    ) -> pd.DataFrame:
        """Predict the size of a weld without expulsion at the stack's weakest interface.

        Parameters
        ----------
        stack : Stack
            The stack, either way up.
        electrode : Electrode
            Caps as dressed.
        settings : DataFrame of shape (n_settings, ...)
            Columns ``current_kA``, ``weld_ms``, ``force_kN``. [kA], [ms], [kN]
        welds_since_dressing : int or None
            Welds on the caps since they were dressed; None for as many as with the machine's newest
            coupon.

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
        rows = self._asked_rows(stack, electrode, dialled, welds_since_dressing)
        chances = self._chances(stack, rows)
        weakest, each = np.argmin(chances, axis=0), np.arange(len(dialled))
        root = root_governing(stack, self.rules)[weakest]
        shares = ((1 - LEVEL) / 2, 0.5, (1 + LEVEL) / 2)
        low, size, high = root * size_over_root(self.mixture.quantiles(rows[weakest, each], shares))
        columns = {
            "size_mm": size,
            "low_mm": low,
            "high_mm": high,
            "minimum_mm": self._minimum_mm(stack)[weakest],
            "chance": chances[weakest, each],
        }
        return pd.DataFrame(columns, index=settings.index)

    def chances(
        self,
        stack: Stack,
        electrode: Electrode,
        settings: Floats,
        *,
        welds_since_dressing: int | None = None,
    ) -> Floats:
        """Return the chance of reaching the minimum at the weakest interface: `predict`, quicker.

        Parameters
        ----------
        stack : Stack
            The stack, either way up.
        electrode : Electrode
            Caps as dressed.
        settings : ndarray of shape (n_settings, 3)
            Current, weld time and force. [kA], [ms], [kN]
        welds_since_dressing : int or None
            As in `predict`.

        Returns
        -------
        ndarray of shape (n_settings,)
            Chances, 0 to 1.

        Raises
        ------
        NoAdviceError
            Nothing published for this stack.
        """
        rows = self._asked_rows(stack, electrode, settings, welds_since_dressing)
        return np.asarray(self._chances(stack, rows).min(axis=0))

    def _asked_rows(
        self, stack: Stack, electrode: Electrode, dialled: Floats, welds: int | None
    ) -> Floats:
        """Return rows of shape (n_interfaces, n_settings, 1 + n_features)."""
        welds = self._welds_since_dressing if welds is None else welds
        found = inputs(stack, electrode, dialled, self.rules, welds_since_dressing=welds)
        return np.concatenate([np.ones((*found.shape[:2], 1)), found], axis=2)

    def _chances(self, stack: Stack, rows: Floats) -> Floats:
        bounds = response_of(self._minimum_mm(stack) / root_governing(stack, self.rules))
        parts = [
            np.array(
                [
                    self.mixture.probability_above(each, np.full(len(each), bound))
                    for each, bound in zip(rows[:, at : at + _CHUNK], bounds, strict=True)
                ]
            )
            for at in range(0, max(1, rows.shape[1]), _CHUNK)
        ]
        return np.concatenate(parts, axis=1)

    def _minimum_mm(self, stack: Stack) -> Floats:
        stack, rule = stack.canonical(), self.rules.judging.size
        return np.array([rule.minimum_mm(stack, i) for i in range(len(stack.interfaces))])

    @property
    def off_table(self) -> Mapping[int, float]:
        """How far the coupons came out from what the table alone leads to expect.

        Coupon number to log(measured / expected at its own setting), the mean over its measured
        interfaces; coupons without a measured one are absent.
        """
        rows = self._rows
        measured = ~rows.is_below
        expected = self.prior.size_at_start.mean + rows.inputs @ self.prior.slope_means
        numbers, which = np.unique(np.array(rows.numbers, int)[measured], return_inverse=True)
        ratio = size_over_root(rows.response) / np.maximum(size_over_root(expected), _LEAST_ROOT)
        off = np.bincount(which, np.log(ratio[measured])) / np.bincount(which)
        return dict(zip(numbers.tolist(), off.tolist(), strict=True))


def mixture_from(views: Views, rows: Rows) -> Mixture:
    """Return what the views believe after some rows.

    Parameters
    ----------
    views : Views
        Beliefs before them.
    rows : Rows
        Measured rows and those without a button.
    """
    inputs_and_one = with_intercept(rows.inputs)
    measured, below = ~rows.is_below, rows.is_below
    posterior = learn(
        views.seeing(rows.inputs[:, _CURRENT]), inputs_and_one[measured], rows.response[measured]
    )
    return Mixture(add_bounds(posterior, inputs_and_one[below], rows.response[below]))
