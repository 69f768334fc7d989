"""Published starts, remembered: a log of coupons asks for the same few stacks over and over."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from advisor.coupons.coupon import Coupon
from advisor.errors import NoAdviceError
from advisor.weld.published import PublishedStart, Schedule, published_start
from advisor.weld.stack import Stack

Floats = NDArray[np.float64]


def start_logs(start: PublishedStart) -> Floats:
    """Return the logs of current, time, force and face, shape (4,). [kA], [ms], [kN], [mm]."""
    return np.log([start.current_kA, start.weld_ms, start.force_kN, start.face_mm])


def dialled(coupon: Coupon) -> tuple[float, float, float, float]:
    """Return current, time, force and face of a coupon. [kA], [ms], [kN], [mm]."""
    setting = coupon.setting
    return setting.current_kA, setting.weld_ms, setting.force_kN, coupon.electrode.face_mm


@lru_cache(maxsize=4096)
def start_or_none(stack: Stack, bare: Schedule) -> PublishedStart | None:
    """Return the published start of a stack, None where nothing is published.

    Parameters
    ----------
    stack : Stack
        The stack, either way up.
    bare : Schedule
        Columns the shop uses for uncoated steel.
    """
    try:
        return published_start(stack, bare)
    except NoAdviceError:
        return None
