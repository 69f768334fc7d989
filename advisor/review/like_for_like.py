"""What stack and setting explain of a coupon's value, learnt on a machine's stable period.

A shop welds unlike stacks at unlike settings, and that must not look like drift. The value (weld
size over root of the governing thickness) is regressed on logarithms of the setting over the
published start, on the bond, on the sheets, and on the stack itself. Every slope is held back by a
ridge penalty that says how large it may be, so that 25 coupons do. A coupon whose expected value
the stable period leaves unsure is not judged.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from sklearn.linear_model import Ridge

from advisor.coupons.coupon import Coupon
from advisor.errors import InputError, NoAdviceError
from advisor.language import ENGLISH, say, speaking
from advisor.weld.published import published_start
from advisor.weld.size import GoverningRule
from advisor.weld.stack import AdhesiveState, Stack

#: How large a slope may well be: a standard deviation, in mm per root mm for one unit of the input
#: (logarithms for the first three and for thinness). Common practice, no source.
SPREAD = {
    "current": 6.0,
    "time": 2.0,
    "force": 3.0,
    "wet": 0.5,
    "cured": 0.5,
    "sheets": 0.5,
    "thinness": 1.0,
}
#: Likewise, what is left between stacks after that. Common practice, no source. [mm per root mm]
STACK_SPREAD = 0.3
#: Scatter of coupons welded alike that the penalties are meant for; common practice, no source.
SCATTER = 0.25
#: Variance of an expected value, in that of a single coupon, above which it is unsure: a stack
#: welded once in the stable period is, one welded twice is not. Choice of this project.
LARGEST_DOUBT = 0.5
#: How far beyond the settings of the stable period one still counts as inside. Choice of this
#: project: five in a hundred. [log of a ratio]
SLACK = 0.05

_SETTING = ("current_kA", "weld_ms", "force_kN")
_START = ("start_current_kA", "start_weld_ms", "start_force_kN")
_OTHERS = ("wet", "cured", "sheets", "thinness")

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Place:
    """What a stack alone says, whichever way up.

    Parameters
    ----------
    title : str
        The stack in one line, in its canonical way up; English, as a name that sorts coupons.
    roots : ndarray of shape (n_interfaces,)
        Root of the governing thickness at each interface, as the stack was written. [mm^0.5]
    columns : dict
        Columns of the frame that come from the stack alone.
    """

    title: str
    roots: Floats
    columns: dict[str, float]


@lru_cache(maxsize=4096)
def place_of(stack: Stack, governing: GoverningRule) -> Place | None:
    """Return what a stack says, None where the rule gives it no governing thickness.

    Parameters
    ----------
    stack : Stack
        The stack.
    governing : GoverningRule
        Which thickness sets the minimum size.
    """
    try:
        thick = np.array([governing.thickness_mm(stack, i) for i in range(len(stack.bonds))])
    except InputError:
        return None
    hard = (AdhesiveState.PART_CURED, AdhesiveState.CURED)
    columns = dict(zip(_START, _start(stack), strict=True)) | {
        "wet": float(stack.adhesive_state is AdhesiveState.WET),
        "cured": float(stack.adhesive_state in hard),
        "sheets": float(len(stack.sheets)),
        "thinness": float(np.log(min(stack.thicknesses_mm) / thick.min())),
    }
    with speaking(ENGLISH):
        return Place(stack.canonical().title(), np.sqrt(thick), columns)


def _start(stack: Stack) -> tuple[float, float, float]:
    try:
        start = published_start(stack)
    except NoAdviceError:
        return (np.nan,) * 3
    return start.current_kA, start.weld_ms, start.force_kN


def explaining(coupon: Coupon, place: Place) -> dict[str, object]:
    """Return the columns of one coupon that `fit` needs: stack, setting, published start."""
    setting = coupon.setting
    dialled = {name: getattr(setting, name) for name in _SETTING}
    return {"stack": place.title} | dialled | place.columns


@dataclass(frozen=True, eq=False)
class LikeForLike:
    """What the stable period taught.

    Parameters
    ----------
    centre : float
        Mean value of the stable period. [mm per root mm]
    sd, df : float
        Scatter of coupons welded alike, and the degrees of freedom left for it.
        [mm per root mm], [1]
    slopes : ndarray of shape (n_inputs,)
        Slopes on the inputs, which are in units of their penalties. [mm per root mm]
    middle : ndarray of shape (n_inputs,)
        Mean inputs of the stable period.
    variance : ndarray of shape (1 + n_inputs, 1 + n_inputs)
        Variance of mean and slopes, in sd².
    stacks : tuple of str
        Stacks with a coefficient of their own.
    usual_logs : dict
        Logs that stand for the start of each stack without a published one.
    lowest, highest : ndarray of shape (3,)
        Settings of the stable period, as logs of ratios.
    """

    centre: float
    sd: float
    df: float
    slopes: Floats
    middle: Floats
    variance: Floats
    stacks: tuple[str, ...]
    usual_logs: dict[str, Floats]
    lowest: Floats
    highest: Floats

    def rows(self, frame: pd.DataFrame) -> Floats:
        """Return (1, inputs less the middle) of each coupon; NaN where nothing is comparable."""
        inputs = _inputs(frame, _ratios(frame, self.usual_logs), self.stacks)
        return np.column_stack([np.ones(len(frame)), inputs - self.middle])

    def adjusted(self, values: Floats, rows: Floats) -> Floats:
        """Return values less what stack and setting explain, plus the centre. [mm per root mm]."""
        return np.asarray(values - rows[:, 1:] @ self.slopes, dtype=float)

    def doubt(self, rows: Floats) -> Floats:
        """Return the variance of the expected value of each row, in sd²."""
        return np.asarray(((rows @ self.variance) * rows).sum(axis=1), dtype=float)

    def known(self, frame: pd.DataFrame, rows: Floats) -> Bools:
        """Whether the stable period lets each coupon be judged."""
        ratios = _ratios(frame, self.usual_logs)
        inside = (ratios >= self.lowest - SLACK) & (ratios <= self.highest + SLACK)
        seen = np.isin(frame["stack"].to_numpy(dtype=object), np.array(self.stacks, dtype=object))
        sure = np.nan_to_num(self.doubt(rows), nan=np.inf) <= LARGEST_DOUBT
        return np.asarray(inside.all(axis=1) & seen & sure, dtype=bool)


def fit(stable: pd.DataFrame) -> LikeForLike:
    """Learn what stack and setting explain.

    Parameters
    ----------
    stable : DataFrame of shape (n_coupons, ...)
        Coupons of the stable period with the columns of `explaining` and ``value``, none of them
        NaN there.

    Returns
    -------
    LikeForLike
        The scatter is that of the residuals over the degrees of freedom the fit left, so it is as
        large as if nothing had been fitted.

    Raises
    ------
    InputError
        Fewer than three coupons.
    """
    n = len(stable)
    if n < 3:
        raise InputError(
            say("the stable period has {count} coupons with a size; give 3 or more", count=n)
        )
    usual = _usual_logs(stable)
    ratios = _ratios(stable, usual)
    stacks = tuple(sorted(set(stable["stack"])))
    inputs = _inputs(stable, ratios, stacks)
    values = stable["value"].to_numpy(dtype=float)
    ridge = Ridge(alpha=1.0).fit(inputs, values)
    middle = inputs.mean(axis=0)
    variance, sd, df = _scatter(inputs - middle, values - ridge.predict(inputs))
    return LikeForLike(
        float(values.mean()),
        sd,
        df,
        np.asarray(ridge.coef_, dtype=float),
        middle,
        variance,
        stacks,
        usual,
        ratios.min(axis=0),
        ratios.max(axis=0),
    )


def _scatter(centred: Floats, residuals: Floats) -> tuple[Floats, float, float]:
    """Return the variance of mean and slopes in sd², the sd, and its degrees of freedom."""
    n, width = centred.shape
    variance = np.zeros((1 + width, 1 + width))
    variance[0, 0] = 1 / n
    variance[1:, 1:] = np.linalg.inv(centred.T @ centred + np.eye(width))
    hat = 1 / n + centred @ variance[1:, 1:] @ centred.T
    left = np.eye(n) - hat
    df = float((left**2).sum())
    return variance, float(np.sqrt(residuals @ residuals / df)), df


def _usual_logs(stable: pd.DataFrame) -> dict[str, Floats]:
    """Return for each stack without a published start what stands for it, as logs.

    The mean of its own settings, less what the machine's other stacks run above their starts.
    """
    without = stable["start_current_kA"].isna().to_numpy()
    above = _ratios(stable[~without], {}).mean(axis=0) if not without.all() else np.zeros(3)
    logs = np.log(stable.loc[:, list(_SETTING)].to_numpy(dtype=float))
    names = stable["stack"].to_numpy(dtype=object)
    return {str(s): logs[names == s].mean(axis=0) - above for s in set(names[without])}


def _ratios(frame: pd.DataFrame, usual: dict[str, Floats]) -> Floats:
    """Return logs of the setting over the published start, or over the stack's usual setting."""
    start = np.log(frame.loc[:, list(_START)].to_numpy(dtype=float))
    names = frame["stack"].to_numpy(dtype=object)
    for i in np.flatnonzero(np.isnan(start[:, 0])):
        start[i] = usual.get(str(names[i]), np.full(3, np.nan))
    return np.asarray(np.log(frame.loc[:, list(_SETTING)].to_numpy(dtype=float)) - start)


def _inputs(frame: pd.DataFrame, ratios: Floats, stacks: tuple[str, ...]) -> Floats:
    """Return the inputs, each in units of its penalty."""
    plain = np.column_stack([ratios, frame.loc[:, list(_OTHERS)].to_numpy(dtype=float)])
    names = frame["stack"].to_numpy(dtype=object)
    is_stack = names[:, None] == np.array(stacks, dtype=object)[None, :]
    spreads = np.array(list(SPREAD.values()))
    return np.column_stack([plain * spreads, is_stack * STACK_SPREAD]) / SCATTER
