"""The window: chance of a sound weld over current and time, and over current and force."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pandas as pd
from scipy.interpolate import RectBivariateSpline
from scipy.spatial import cKDTree
from scipy.special import expit, logit

from advisor.coupons.joint import LoggedCoupon
from advisor.errors import InputError
from advisor.language import say
from advisor.learning.bench import Bench
from advisor.learning.features import Floats
from advisor.learning.model import SETTING_COLUMNS
from advisor.weld.machine import Machine
from advisor.weld.setting import Setting

#: A setting counts as tested where a coupon of this kind of stack lies within these shares of its
#: current, time and force, taken together as a distance (common practice, no source).
NEAR_TESTED = (0.05, 0.2, 0.2)
#: Spans around a setting, as far as the machine goes: current from 1/1.35 to 1.35 times, time and
#: force from one half to twice. Choice of this project: wide enough to show where the window ends.
CURRENT_SPAN, OTHER_SPAN = 1.35, 2.0
#: Values of each quantity at which the chances are worked out; between them a spline serves, to one
#: part in a hundred of a chance. Choice of this project.
KNOTS = 24
_CERTAIN = 1e-9


def window_over_time(bench: Bench, around: Setting, points: int = 100) -> pd.DataFrame:
    """Return the chance of a sound weld over current and weld time, at one force.

    Parameters
    ----------
    bench : Bench
        What is known about the stack on the machine.
    around : Setting
        Setting in its middle; its force is kept.
    points : int
        Values of each quantity, 2 or more.

    Returns
    -------
    DataFrame of shape (points², 6)
        ``current_kA``, ``weld_ms``, ``chance_minimum``, ``chance_expulsion``, ``chance_sound``, as
        `Outlook.chances` gives them, and ``tested``: whether a coupon lies near; elsewhere the
        chances are extrapolated. [kA], [ms]

    Raises
    ------
    InputError
        Fewer than 2 points.
    """
    return _window(bench, around, points, "weld_ms")


def window_over_force(bench: Bench, around: Setting, points: int = 100) -> pd.DataFrame:
    """Return the chance of a sound weld over current and force, at one weld time.

    Parameters
    ----------
    bench : Bench
        What is known about the stack on the machine.
    around : Setting
        Setting in its middle; its weld time is kept.
    points : int
        Values of each quantity, 2 or more.

    Returns
    -------
    DataFrame of shape (points², 6)
        As `window_over_time`, with ``force_kN`` for the time. [kA], [kN]

    Raises
    ------
    InputError
        Fewer than 2 points.
    """
    return _window(bench, around, points, "force_kN")


def _window(bench: Bench, around: Setting, points: int, other: str) -> pd.DataFrame:
    if points < 2:
        raise InputError(
            say("the window has {points} points a side; it needs 2 or more", points=points)
        )
    asked, column = bench.asked, SETTING_COLUMNS.index(other)
    sides = _sides(asked.machine, around, other)
    knots = [np.linspace(*side, min(points, KNOTS)) for side in sides]
    chances = bench.outlook.chances(asked.stack, asked.electrode, _settings(around, column, *knots))
    fine = [np.linspace(*side, points) for side in sides]
    minimum, expulsion = (
        _between(knots, part, fine) for part in (chances.minimum, chances.expulsion)
    )
    settings = _settings(around, column, *fine)
    return pd.DataFrame(
        {
            "current_kA": settings[:, 0],
            other: settings[:, column],
            "chance_minimum": minimum,
            "chance_expulsion": expulsion,
            "chance_sound": bench.outlook.sound(minimum, expulsion),
            "tested": is_tested(asked.kin, settings),
        }
    )


def _between(knots: Sequence[Floats], chances: Floats, fine: Sequence[Floats]) -> Floats:
    """Return chances at all points by a cubic spline through the log-odds at the knots."""
    odds = logit(np.clip(chances, _CERTAIN, 1 - _CERTAIN)).reshape(len(knots[1]), len(knots[0]))
    degree = min(3, len(knots[0]) - 1)
    spline = RectBivariateSpline(knots[1], knots[0], odds, kx=degree, ky=degree)
    return np.asarray(expit(spline(fine[1], fine[0])).ravel())


def _settings(around: Setting, column: int, currents: Floats, others: Floats) -> Floats:
    """Return every pair of both, the other values filled up from the setting in the middle."""
    pairs = np.meshgrid(currents, others)
    found = np.empty((pairs[0].size, 3))
    found[:] = (around.current_kA, around.weld_ms, around.force_kN)
    found[:, 0], found[:, column] = pairs[0].ravel(), pairs[1].ravel()
    return found


def _sides(machine: Machine, around: Setting, other: str) -> list[tuple[float, float]]:
    """Return the ends of the currents and of the other quantity."""
    limits = {
        "current_kA": (machine.smallest_current_kA, machine.largest_current_kA),
        "weld_ms": (machine.time_step_ms, math.inf),
        "force_kN": (machine.smallest_force_kN, machine.largest_force_kN),
    }
    spans = {"current_kA": CURRENT_SPAN, other: OTHER_SPAN}
    return [
        (
            max(getattr(around, name) / span, limits[name][0]),
            min(getattr(around, name) * span, limits[name][1]),
        )
        for name, span in spans.items()
    ]


def is_tested(coupons: Sequence[LoggedCoupon], settings: Floats) -> Floats:
    """Return whether a coupon lies near each setting.

    Parameters
    ----------
    coupons : sequence of LoggedCoupon
        Coupons of this kind of stack.
    settings : ndarray of shape (n_settings, 3)
        Current, weld time and force. [kA], [ms], [kN]

    Returns
    -------
    ndarray of bool of shape (n_settings,)
        Where `NEAR_TESTED` holds for at least one coupon.
    """
    if not coupons:
        return np.zeros(len(settings), bool)
    dialled = {
        (s.current_kA, s.weld_ms, s.force_kN) for s in (each.coupon.setting for each in coupons)
    }
    scale = np.log1p(NEAR_TESTED)
    away, _ = cKDTree(np.log(sorted(dialled)) / scale).query(
        np.log(settings) / scale, distance_upper_bound=1.0 + 1e-9
    )
    return np.asarray(np.isfinite(away))
