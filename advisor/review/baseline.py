"""The stable period of a machine, and coupons held against it, like for like."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from advisor.review.control_charts import (
    WEIGHT,
    Ewma,
    IndividualsLimits,
    ewma,
    individuals_limits,
    limits_around,
    moving_range_df,
    running_average,
)
from advisor.review.like_for_like import LikeForLike, fit

#: Smallest scatter that is believed: a caliper read to 0.1 mm scatters by that much itself (common
#: practice, no source). [mm per root mm]
SMALLEST_SD = 0.03
#: A weld without a button was surely smaller; 3.5√t is the smallest size any source lets pass (ISO
#: 14373 / ISO 18278-2 practice, from memory). [mm per root mm]
NO_BUTTON_VALUE = 3.5

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Held:
    """Coupons of one phase held against the stable period.

    Parameters
    ----------
    frame : DataFrame of shape (n_coupons, ...)
        The coupons, oldest first.
    values : ndarray of shape (n_coupons,)
        Values like for like; NaN where there is none. [mm per root mm]
    known : ndarray of bool of shape (n_coupons,)
        Whether the stable period lets the coupon be judged.
    limits : IndividualsLimits
        Limits of each coupon.
    average : Ewma
        Weighted averages with their limits.
    change : float
        Newest weighted average less the centre, as if it had not begun at the centre; NaN without
        coupons. [mm per root mm]
    change_sd : float
        Standard error of `change`. [mm per root mm]
    """

    frame: pd.DataFrame
    values: Floats
    known: Bools
    limits: IndividualsLimits
    average: Ewma
    change: float
    change_sd: float

    @property
    def judged(self) -> Floats:
        """Values of the coupons that may be judged, NaN for the others. [mm per root mm]."""
        return np.where(self.known, self.values, np.nan)


@dataclass(frozen=True, eq=False)
class Baseline:
    """What the stable period says a coupon should be.

    Parameters
    ----------
    centre : float
        Mean value. [mm per root mm]
    sd, df : float
        Scatter of coupons welded alike, and degrees of freedom behind it. [mm per root mm], [1]
    variance : ndarray
        Variance of the mean, and of slopes if there are any, in sd².
    model : LikeForLike or None
        What stack and setting explain; None to take values as they are.
    """

    centre: float
    sd: float
    df: float
    variance: Floats
    model: LikeForLike | None = None

    @classmethod
    def of(cls, stable: pd.DataFrame, like_for_like: bool) -> Baseline:
        """Learn from the stable coupons that have a value."""
        with_size = stable[stable["value"].notna().to_numpy()]
        if like_for_like:
            model = fit(with_size)
            sd = max(model.sd, SMALLEST_SD)
            return cls(model.centre, sd, model.df, model.variance, model)
        limits = individuals_limits(with_size["value"])
        n = len(with_size)
        sd = max(limits.sd, SMALLEST_SD)
        return cls(limits.centre, sd, moving_range_df(n), np.array([[1 / n]]))

    def hold(self, frame: pd.DataFrame, is_stable: bool = False) -> Held:
        """Hold coupons, oldest first, against the stable period.

        Parameters
        ----------
        frame : DataFrame of shape (n_coupons, ...)
            As `coupon_frame.frame_of` returns it.
        is_stable : bool
            Whether these are the coupons of the stable period, all of which are judged.
        """
        values = frame["value"].to_numpy(dtype=float)
        rows = np.zeros((len(frame), len(self.variance)))
        rows[:, 0] = 1.0
        known = np.ones(len(frame), dtype=bool)
        if self.model is not None and len(frame):
            rows = self.model.rows(frame)
            known = known if is_stable else self.model.known(frame, rows)
            values = self.model.adjusted(values, rows)
            rows = np.where(known[:, None], rows, 0.0)
        limits = limits_around(self.centre, self.sd, self._doubt(rows), self.df)
        counted = self._counted(frame, np.where(known, values, np.nan), known, limits)
        average, change, change_sd = self._averaged(counted, rows)
        return Held(frame, values, known, limits, average, change, change_sd)

    def _counted(
        self, frame: pd.DataFrame, judged: Floats, known: Bools, limits: IndividualsLimits
    ) -> Floats:
        """Let a coupon without a button count as the highest it may have been, at the limit."""
        if not len(frame):
            return judged
        none = frame["no_button"].to_numpy(dtype=bool) & known & np.isnan(judged)
        highest = np.minimum(np.maximum(NO_BUTTON_VALUE, limits.lower), self.centre)
        return np.where(none, highest, judged)

    def _averaged(self, counted: Floats, rows: Floats) -> tuple[Ewma, float, float]:
        """Return weighted averages, and the newest change with its standard error."""
        there = ~np.isnan(counted)
        # Where the average begins, at the centre, nothing is in doubt yet.
        before = np.zeros((1, rows.shape[1]))
        mixed = np.vstack([before, running_average(rows[there], 0.0)])[np.cumsum(there)]
        doubt = self._doubt(mixed)
        average = ewma(counted, self.centre, self.sd, doubt=doubt, df=self.df)
        if not there.any():
            return average, np.nan, np.nan
        share = float(mixed[-1, 0])
        noise = WEIGHT / (2 - WEIGHT) * (1 - (1 - share) ** 2)
        change_sd = self.sd * float(np.sqrt(noise + doubt[-1])) / share
        return average, float(average.averages[-1] - self.centre) / share, change_sd

    def _doubt(self, rows: Floats) -> Floats:
        return np.asarray(((rows @ self.variance) * rows).sum(axis=1), dtype=float)
