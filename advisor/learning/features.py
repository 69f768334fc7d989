"""From coupons to rows for the regression: everything relative to the published start.

Response and inputs are logarithms of ratios, so one slope serves every thickness and a row of zeros
*is* the published start. A stack turned over gives the same rows, to the last bit: every stack is
looked at in its canonical way up.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from advisor.coupons.coupon import Coupon
from advisor.coupons.joint import LoggedCoupon
from advisor.coupons.rules import ShopRules
from advisor.errors import InputError, NoAdviceError
from advisor.weld.electrode import Electrode
from advisor.weld.published import published_start
from advisor.weld.stack import AdhesiveState, Stack

#: Inputs in the order of the columns.
FEATURES = (
    "current",
    "time",
    "force",
    "face",
    "sink",
    "interface",
    "wet",
    "part_cured",
    "cured",
    "expelled",
)
_STATES = (AdhesiveState.WET, AdhesiveState.PART_CURED, AdhesiveState.CURED)

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class LeftOut:
    """Coupons that taught the model nothing, and why.

    Parameters
    ----------
    voided : int
        Voided in the log.
    no_start : int
        No published start for the stack, so nothing to be relative to (or, by the whole-stack rule
        with four sheets, no governing thickness).
    no_size : int
        No interface with a measured diameter. A coupon without fusion does say "below a size"; the
        model does not read that yet, so it is too hopeful where there are such coupons.
    """

    voided: int = 0
    no_start: int = 0
    no_size: int = 0

    @property
    def total(self) -> int:
        """How many coupons were left out."""
        return self.voided + self.no_start + self.no_size


@dataclass(frozen=True)
class Rows:
    """Rows for the regression, one an interface with a measured size.

    Parameters
    ----------
    inputs : ndarray of shape (n_rows, n_features)
        Columns as in `FEATURES`.
    response : ndarray of shape (n_rows,)
        log(size / √governing thickness), both in mm.
    numbers : tuple of int
        Number of the coupon behind each row.
    left_out : LeftOut
        Coupons behind no row.
    """

    inputs: Floats
    response: Floats
    numbers: tuple[int, ...]
    left_out: LeftOut

    @property
    def n_coupons(self) -> int:
        """How many coupons are behind the rows."""
        return len(set(self.numbers))


def inputs(
    stack: Stack,
    electrode: Electrode,
    settings: Floats,
    rules: ShopRules,
    *,
    expelled: bool = False,
) -> Floats:
    """Return the inputs at every interface of a stack for every setting.

    Parameters
    ----------
    stack : Stack
        The stack, either way up.
    electrode : Electrode
        Caps as dressed.
    settings : ndarray of shape (n_settings, 3)
        Current, weld time and force. [kA], [ms], [kN]
    rules : ShopRules
        The shop's rules; the columns for uncoated steel come from them.
    expelled : bool
        Whether metal was thrown out.

    Returns
    -------
    ndarray of shape (n_interfaces, n_settings, n_features)
        Interfaces in the stack's canonical way up.

    Raises
    ------
    NoAdviceError
        Nothing published for this stack.
    """
    stack = stack.canonical()
    start = published_start(stack, rules.bare_schedule)
    entry = start.thickness_mm
    found = np.zeros((len(stack.interfaces), len(settings), len(FEATURES)))
    found[:, :, :3] = np.log(settings / (start.current_kA, start.weld_ms, start.force_kN))
    found[:, :, 3] = np.log(electrode.face_mm / start.face_mm)
    found[:, :, 4] = np.log(stack.total_mm / (2 * entry))
    for index, interface in enumerate(stack.interfaces):
        found[index, :, 5] = np.log(interface.thinner_mm / entry)
    found[:, :, 6:9] = [stack.adhesive_state is state for state in _STATES]
    found[:, :, 9] = expelled
    return found


def root_governing(stack: Stack, rules: ShopRules) -> Floats:
    """Return √governing thickness at each interface, canonical way up. [mm^0.5]."""
    stack = stack.canonical()
    rule = rules.judging.size.governing
    count = len(stack.interfaces)
    return np.sqrt([rule.thickness_mm(stack, index) for index in range(count)])


def coupon_rows(coupons: Iterable[LoggedCoupon], rules: ShopRules) -> Rows:
    """Turn coupons into rows.

    Parameters
    ----------
    coupons : iterable of LoggedCoupon
        Coupons as they stand in the log.
    rules : ShopRules
        The shop's rules.

    Returns
    -------
    Rows
        Rows of the usable coupons, and the count of the others.
    """
    blocks: list[tuple[Floats, Floats]] = []
    numbers: list[int] = []
    lost = {"voided": 0, "no_start": 0, "no_size": 0}
    for logged in coupons:
        reason = _unusable(logged)
        if not reason:
            try:
                block = _rows_of(logged.coupon, rules)
            except (NoAdviceError, InputError):
                reason = "no_start"
        if reason:
            lost[reason] += 1
            continue
        blocks.append(block)
        numbers += [logged.number] * len(block[1])
    return Rows(
        np.concatenate([np.empty((0, len(FEATURES))), *(block[0] for block in blocks)]),
        np.concatenate([np.empty(0), *(block[1] for block in blocks)]),
        tuple(numbers),
        LeftOut(**lost),
    )


def _unusable(logged: LoggedCoupon) -> str:
    if logged.voided:
        return "voided"
    measured = any(result.size_mm is not None for result in logged.coupon.results)
    return "" if measured else "no_size"


def _rows_of(coupon: Coupon, rules: ShopRules) -> tuple[Floats, Floats]:
    way_up = coupon if coupon.stack.is_canonical else coupon.turned_over()
    setting = coupon.setting
    dialled = np.array([[setting.current_kA, setting.weld_ms, setting.force_kN]])
    found = inputs(coupon.stack, coupon.electrode, dialled, rules, expelled=coupon.expulsion)[:, 0]
    sizes = _sizes([result.size_mm for result in way_up.results])
    measured = np.isfinite(sizes)
    response = np.log(sizes[measured] / root_governing(coupon.stack, rules)[measured])
    return found[measured], response


def _sizes(sizes_mm: Sequence[float | None]) -> Floats:
    return np.array([np.nan if size is None else size for size in sizes_mm])
