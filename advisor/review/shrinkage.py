"""Pass rates of a shop's welders, each drawn towards what the shop's welders pass in general.

One coupon of one is 100 % and one of none is 0 %, and both would lead any list. A welder's
colleagues say what a new welder of this shop may be expected to do; own coupons then move that
expectation, the more the more there are. Groups of other kinds may be read the same way where
nothing but their coupons tells them apart; periods and states of the adhesive are not such groups.

Model: passes of a group are binomial, the groups' true rates come from one beta distribution,
``Beta(m κ, (1 - m) κ)``: `m` is the shop's rate, `κ` how many coupons the colleagues are worth.
Beliefs before any coupon: `m` uniform on 0 to 1; `10 / (10 + κ)` uniform, that is ``p(κ)``
proportional to ``1 / (10 + κ)²``, so that for a group of ten coupons no degree of drawing is
favoured (a uniform-shrinkage prior, as in Daniels, Can. J. Stat. 27, 1999, from memory; the ten is
common practice, no source), with `κ` from 1 to 10 000: below 1, groups would pass all or nothing.
Both are integrated out on a grid, so each group's rate is a mixture of beta distributions. Rates
come out to about 0.0005, ends to 0.001, and thirty groups take some 5 to 10 ms.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import betainc, betaincinv, betaln, expit, logit, xlog1py, xlogy

from advisor.errors import InputError
from advisor.language import say
from advisor.review.intervals import check_level

Floats = NDArray[np.float64]

#: Coupons of a group for which every degree of drawing is equally likely beforehand; common
#: practice, no source.
TYPICAL_COUPONS = 10.0
#: The colleagues are worth this many coupons at least, and at most. Choice of this project: from
#: hardly anything to as good as alike.
KAPPA_LEAST, KAPPA_MOST = 1.0, 10_000.0
_NODES = 18
#: Share of its width that a box keeps where closing in is at its end. Choice of this project.
_NO_CLOSER = 0.8
#: Choice of this project: below what an interval shows.
_NEGLIGIBLE = 3e-5
#: Choice of this project: below what an interval shows.
_CLOSE_ENOUGH = 1e-4


@dataclass(frozen=True)
class PooledRate:
    """What a group's true pass rate is thought to be, its colleagues considered.

    Parameters
    ----------
    rate : float
        Expected share that passes.
    low, high : float
        Ends of the central interval.
    overall : float
        Expected share of a new group of this shop, of which nothing is judged yet.
    """

    rate: float
    low: float
    high: float
    overall: float


def pooled_rates(
    passed: Sequence[int], judged: Sequence[int], level: float = 0.95
) -> tuple[PooledRate, ...]:
    """Return each group's pass rate, drawn towards the others'.

    Parameters
    ----------
    passed, judged : sequence of int
        Passing coupons of each group, and all that were judged. A group of which nothing was
        judged gets what a new group of this shop is expected to do.
    level : float
        Chance that a true rate lies between the ends, above 0 and below 1.

    Returns
    -------
    tuple of PooledRate
        In the order of the groups. The more coupons a group has, the less it is drawn.

    Raises
    ------
    InputError
        Counts that cannot be.
    """
    passes, total = _checked(passed, judged, level)
    if not passes.size:
        return ()
    pairs, which = np.unique(np.stack([passes, total - passes], 1), axis=0, return_inverse=True)
    counts = np.bincount(which.ravel()).astype(float)
    m, kappa, weight = _grid(pairs, counts)
    a = m * kappa + pairs[:, :1]
    b = (1 - m) * kappa + pairs[:, 1:]
    mean = (a / (a + b)) @ weight
    tail = (1 - level) / 2
    low = _quantile(tail, a, b, weight, mean)
    high = _quantile(1 - tail, a, b, weight, mean)
    overall = float(m @ weight)
    return tuple(
        PooledRate(float(mean[i]), float(low[i]), float(high[i]), overall) for i in which.ravel()
    )


def _checked(passed: Sequence[int], judged: Sequence[int], level: float) -> tuple[Floats, Floats]:
    passes, total = np.asarray(passed, float), np.asarray(judged, float)
    if passes.shape != total.shape or passes.ndim != 1:
        raise InputError(
            say(
                "{passes} numbers of passes and {judged} of judged coupons do not go together; "
                "each group needs one of both",
                passes=passes.size,
                judged=total.size,
            )
        )
    check_level(level)
    for p, n in zip(passes, total, strict=True):
        if not 0 <= p <= n:
            raise InputError(
                say(
                    "{passed:g} passes of {judged:g} coupons cannot be; 0 to {judged:g} can",
                    passed=p,
                    judged=n,
                )
            )
    return passes, total


def _grid(pairs: Floats, counts: Floats) -> tuple[Floats, Floats, Floats]:
    """Return `m`, `κ` and their weights where the counts leave any, on ever closer grids.

    Over `m` and ``u = 10 / (10 + κ)`` the belief before any coupon is flat, and what the counts
    make of it is smooth with one peak, so that few Gauss-Legendre nodes integrate it.
    """
    ends = TYPICAL_COUPONS / (TYPICAL_COUPONS + np.array([KAPPA_MOST, KAPPA_LEAST]))
    box = np.array([[0.0, 1.0], ends])
    while True:
        m, kappa, weight, closer = _weighed(box, pairs, counts)
        if np.all(np.ptp(closer, axis=1) > _NO_CLOSER * np.ptp(box, axis=1)):
            break
        box = closer
    kept = weight > _NEGLIGIBLE
    return m[kept], kappa[kept], weight[kept] / weight[kept].sum()


def _weighed(box: Floats, pairs: Floats, counts: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """Return `m`, `κ`, weights with 1 as the greatest, and the part of the box that has weight."""
    places, shares = np.polynomial.legendre.leggauss(_NODES)
    axes = box[:, :1] + np.ptp(box, axis=1, keepdims=True) * (places + 1) / 2
    m, u = (axis.ravel() for axis in np.meshgrid(*axes, indexing="ij"))
    kappa = TYPICAL_COUPONS * (1 - u) / u
    likelihood = _log_likelihood(m, kappa, pairs, counts)
    weight = np.exp(likelihood - likelihood.max()) * np.outer(shares, shares).ravel()
    weight /= weight.max()
    table = weight.reshape(_NODES, _NODES)
    sides = zip(axes, box, (table.max(axis=1), table.max(axis=0)), strict=True)
    return m, kappa, weight, np.array([_holding(*side) for side in sides])


def _holding(axis: Floats, ends: Floats, weight: Floats) -> Floats:
    """Return the ends of the part of an axis that holds the weight, one step wider."""
    (held,) = np.nonzero(weight > _NEGLIGIBLE)
    steps = np.concatenate([ends[:1], axis, ends[1:]])
    return steps[[held[0], held[-1] + 2]]


def _log_likelihood(m: Floats, kappa: Floats, pairs: Floats, counts: Floats) -> Floats:
    a, b = m * kappa, (1 - m) * kappa
    each = betaln(a + pairs[:, :1], b + pairs[:, 1:]) - betaln(a, b)
    return counts @ each


def _quantile(p: float, a: Floats, b: Floats, weight: Floats, mean: Floats) -> Floats:
    """Return where each mixture of betas reaches a probability: Newton's steps, kept in bounds."""
    low, high = np.zeros_like(mean), np.ones_like(mean)
    x = _first_guess(p, a, b, weight, mean)
    while True:
        reached = betainc(a, b, x[:, None]) @ weight
        low, high = np.where(reached < p, x, low), np.where(reached < p, high, x)
        newton = _step(p, reached, _slope(x, a, b, weight), x)
        useful = (newton >= low - _CLOSE_ENOUGH) & (newton <= high + _CLOSE_ENOUGH)
        before, x = x, np.clip(np.where(useful, newton, (low + high) / 2), low, high)
        if np.max(np.abs(x - before)) < _CLOSE_ENOUGH:
            return x


def _first_guess(p: float, a: Floats, b: Floats, weight: Floats, mean: Floats) -> Floats:
    """Return the quantile of the one beta with the mixture's mean and variance."""
    size = a + b
    square = (a * (a + 1) / (size * (size + 1))) @ weight
    worth = (mean - square) / np.maximum(square - mean**2, 1e-12)
    return np.clip(betaincinv(mean * worth, (1 - mean) * worth, p), 1e-12, 1 - 1e-12)


def _slope(x: Floats, a: Floats, b: Floats, weight: Floats) -> Floats:
    """Return the density of the mixtures over logit x."""
    return np.exp(xlogy(a, x[:, None]) + xlog1py(b, -x[:, None]) - betaln(a, b)) @ weight


def _step(p: float, reached: Floats, slope: Floats, x: Floats) -> Floats:
    """Return Newton's step between logits, where a distribution function is nearly straight."""
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        gradient = slope / (reached * (1 - reached))
        return expit(logit(x) - (logit(reached) - logit(p)) / gradient)
