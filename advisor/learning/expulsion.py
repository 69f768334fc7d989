"""The upper edge of the window: the chance that a weld throws metal out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Self

import numpy as np
import pandas as pd

from advisor.coupons.joint import LoggedCoupon
from advisor.coupons.rules import ShopRules
from advisor.errors import InputError
from advisor.learning.logistic import BayesianLogistic, Floats
from advisor.learning.starts import dialled, start_logs, start_or_none
from advisor.resources import reference
from advisor.weld.electrode import Electrode
from advisor.weld.published import Schedule, published_start
from advisor.weld.sheet import Surface
from advisor.weld.stack import Stack

PRIOR_FILE = "prior_expulsion.csv"
_INTERCEPT = "at_start"
#: Inputs in the order of the columns. The first four are logs of ratios to the published start.
FEATURES = ("current", "time", "force", "face", "zinc", "bonded", "size")
_ZINC = frozenset({Surface.HOT_DIP_ZINC, Surface.ELECTRO_ZINC})
#: Coupons that the table's expectation of the size is worth: (scatter / machine width)² of
#: ``prior_slopes.csv``, so that one odd coupon does not make a hot machine.
_TABLE_WORTH = 0.5
_NOTHING: Mapping[int, float] = MappingProxyType({})


@dataclass(frozen=True)
class ExpulsionPrior:
    """Beliefs about the log-odds of expulsion before any coupon.

    Parameters
    ----------
    means, sds : tuple of float
        Mean and standard deviation at the published start, then for each of `FEATURES`.
    """

    means: tuple[float, ...]
    sds: tuple[float, ...]


def read_expulsion_prior(path: Path) -> ExpulsionPrior:
    """Read a table of beliefs.

    Parameters
    ----------
    path : Path
        CSV with the columns ``name, mean, sd, reason, source``.

    Returns
    -------
    ExpulsionPrior
        The beliefs.

    Raises
    ------
    InputError
        A row is missing, unknown or twice, or a width is not positive.
    """
    table = pd.read_csv(path, index_col="name")
    wanted = [_INTERCEPT, *FEATURES]
    if sorted(table.index) != sorted(wanted):
        raise InputError(
            f"{path.name} must have one row for each of {', '.join(wanted)}; it has "
            f"{', '.join(table.index)}"
        )
    for name, width in table["sd"].items():
        if not width > 0:
            raise InputError(f"{path.name}: the width of {name} is {width:g}; it must be above 0")
    ordered = table.loc[wanted]
    return ExpulsionPrior(tuple(ordered["mean"].astype(float)), tuple(ordered["sd"].astype(float)))


@cache
def load_expulsion_prior() -> ExpulsionPrior:
    """Return the beliefs the tool is shipped with."""
    return read_expulsion_prior(reference(PRIOR_FILE))


class ExpulsionModel:
    """Chance of expulsion on one machine.

    Parameters
    ----------
    rules : ShopRules
        The shop's rules; the published columns for uncoated steel come from them.
    prior : ExpulsionPrior or None
        Beliefs before any coupon; None for those the tool is shipped with.

    Attributes
    ----------
    n_coupons, n_expelled : int
        Coupons that taught the model, and how many of them threw metal out.

    Notes
    -----
    Before `fit`, or fitted to nothing, it predicts from the prior.
    """

    def __init__(self, rules: ShopRules, prior: ExpulsionPrior | None = None) -> None:
        self.rules = rules
        self.prior = prior or load_expulsion_prior()
        self.n_coupons = self.n_expelled = 0
        self._size = 0.0
        self._fitted = BayesianLogistic(self.prior.means, self.prior.sds)

    def fit(
        self, coupons: Sequence[LoggedCoupon], off_table: Mapping[int, float] = _NOTHING
    ) -> Self:
        """Learn from the coupons of one machine, measured or not.

        Parameters
        ----------
        coupons : sequence of LoggedCoupon
            Coupons in any order. Voided ones and those without a published start are left aside.
        off_table : mapping of int to float
            How far coupons came out from the table's expectation, by number, as
            `MachineModel.off_table` gives it; a machine that welds large expels early.

        Returns
        -------
        ExpulsionModel
            Itself.
        """
        bare = self.rules.bare_schedule
        self._size = sum(off_table.values()) / (len(off_table) + _TABLE_WORTH)
        usable = [
            logged.coupon
            for logged in coupons
            if not logged.voided and start_or_none(logged.coupon.stack, bare) is not None
        ]
        rows = np.empty((len(usable), len(FEATURES)))
        if usable:
            rows[:, :4] = np.log([dialled(coupon) for coupon in usable])
            rows[:, :4] -= [_start_logs(coupon.stack, bare) for coupon in usable]
            rows[:, 4:6] = [_conditions(coupon.stack) for coupon in usable]
        rows[:, 6] = self._size
        expelled = [coupon.expulsion for coupon in usable]
        self.n_coupons, self.n_expelled = len(usable), sum(expelled)
        self._fitted = BayesianLogistic(self.prior.means, self.prior.sds).fit(rows, expelled)
        return self

    def probability(self, stack: Stack, electrode: Electrode, settings: Floats) -> Floats:
        """Return the chance that a weld throws metal out.

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

        Raises
        ------
        NoAdviceError
            Nothing published for this stack.
        """
        start = _start_logs(stack, self.rules.bare_schedule)
        rows = np.empty((len(settings), len(FEATURES)))
        rows[:, :3] = np.log(settings) - start[:3]
        rows[:, 3] = np.log(electrode.face_mm) - start[3]
        rows[:, 4:6] = _conditions(stack)
        rows[:, 6] = self._size
        return self._fitted.probability(rows)


@lru_cache(maxsize=4096)
def _start_logs(stack: Stack, bare: Schedule) -> Floats:
    return start_logs(published_start(stack, bare))


@lru_cache(maxsize=4096)
def _conditions(stack: Stack) -> tuple[bool, bool]:
    return bool(stack.surfaces & _ZINC), stack.is_bonded
