"""From coupons to rows for the regression: everything relative to the published start.

Inputs are logarithms of ratios, so one slope serves every thickness. At the published start of 1 mm
sheet, with the face of its row and freshly dressed, every input is zero. A stack turned over gives
the same rows, to the last bit: it is looked at in its canonical way up.

The response is 2(√(size / 5√t) − 1): 0 at the target 5√t, where it changes as the logarithm does,
so that a slope reads as per cent of size per per cent of current. Near the threshold, where a weld
grows from nothing, a logarithm falls without end and makes a straight line of what is a bend; the
plain size, for its part, scatters more the larger it is. The root lies between: it won on measured
and invented coupons (DEVELOPERS.md has the figures).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from advisor.coupons.coupon import Coupon, InterfaceResult
from advisor.coupons.joint import LoggedCoupon
from advisor.coupons.rules import ShopRules
from advisor.errors import InputError, NoAdviceError
from advisor.learning.starts import dialled, start_logs
from advisor.weld.electrode import Electrode
from advisor.weld.failure import FailureType
from advisor.weld.published import Schedule, published_start
from advisor.weld.size import GoverningRule
from advisor.weld.stack import AdhesiveState, Stack

#: Inputs with a slope, in the order of the columns. The first four are logs of ratios.
SLOPES = (
    "current",
    "time",
    "force",
    "face",
    "sink",
    "interface",
    "thickness",
    "wet",
    "part_cured",
    "cured",
    "expelled",
    "wear",
)
#: Squares and products of tanh(current), tanh(time) and tanh(force): growth saturates and turns
#: down, and tanh keeps a setting far from the table from being bent without end.
CURVES = (
    "current_squared",
    "time_squared",
    "force_squared",
    "current_by_time",
    "current_by_force",
    "time_by_force",
)
FEATURES = SLOPES + CURVES
#: Failures that leave no button and so say "below a size" where nothing was measured.
WITHOUT_BUTTON = frozenset({FailureType.NO_FUSION, FailureType.INTERFACE})
#: That size, as a factor on √t: the lowest limit that any source gives (ISO 14373 / ISO 18278-2
#: practice, from memory). Nothing to measure surely means less; how much less, nobody measured, so
#: the bound claims no more. [mm^0.5]
NO_BUTTON_ROOT = 3.5
#: Size over √t that a weld at the published start should reach, the target 5√t (TWI technical FAQ
#: on interface failures). [mm^0.5]
TARGET_ROOT = 5.0
#: Welds over which wear since dressing is told apart (common practice, no source).
WELDS_SCALE = 100.0

_STATES = (AdhesiveState.WET, AdhesiveState.PART_CURED, AdhesiveState.CURED)
_FIXED = slice(SLOPES.index("sink"), SLOPES.index("expelled"))
_EXPELLED, _WEAR = SLOPES.index("expelled"), SLOPES.index("wear")

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
        No interface with a measured diameter, nor one without a button.
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
    """Rows for the regression, one an interface that says something about its size.

    Parameters
    ----------
    inputs : ndarray of shape (n_rows, n_features)
        Columns as in `FEATURES`.
    response : ndarray of shape (n_rows,)
        As `response_of`; without a button, of `NO_BUTTON_ROOT`.
    is_below : ndarray of bool of shape (n_rows,)
        Whether the size is only known to be below the response.
    numbers : tuple of int
        Number of the coupon behind each row.
    left_out : LeftOut
        Coupons behind no row.
    """

    inputs: Floats
    response: Floats
    is_below: NDArray[np.bool_]
    numbers: tuple[int, ...]
    left_out: LeftOut

    @property
    def n_coupons(self) -> int:
        """How many coupons are behind the rows."""
        return len(set(self.numbers))

    def joined(self, other: Rows) -> Rows:
        """Return these rows and those of another coupon."""
        return Rows(
            np.concatenate([self.inputs, other.inputs]),
            np.concatenate([self.response, other.response]),
            np.concatenate([self.is_below, other.is_below]),
            self.numbers + other.numbers,
            self.left_out,
        )


@dataclass(frozen=True, eq=False)
class Place:
    """What a stack alone says about its rows.

    Parameters
    ----------
    is_canonical : bool
        Whether the stack is the way up in which it is stored.
    start : ndarray of shape (4,)
        Logs of the published current, time, force and face. [kA], [ms], [kN], [mm]
    fixed : ndarray of shape (n_interfaces, n_fixed)
        Inputs from sink to cured, interfaces in the canonical way up.
    root : ndarray of shape (n_interfaces,)
        √governing thickness. [mm^0.5]
    """

    is_canonical: bool
    start: Floats
    fixed: Floats
    root: Floats


def place(stack: Stack, rules: ShopRules) -> Place:
    """Return what a stack says about its rows, remembered for the next time.

    Raises
    ------
    NoAdviceError
        Nothing published for this stack.
    InputError
        The shop's size rule says nothing about this number of sheets.
    """
    return _place(stack, rules.bare_schedule, rules.judging.size.governing)


@lru_cache(maxsize=4096)
def _place(stack: Stack, bare: Schedule, governing: GoverningRule) -> Place:
    is_canonical = stack.is_canonical
    stack = stack.canonical()
    start = published_start(stack, bare)
    thinner = np.array([each.thinner_mm for each in stack.interfaces])
    thickness = np.array([governing.thickness_mm(stack, i) for i in range(len(thinner))])
    fixed = np.empty((len(thinner), _FIXED.stop - _FIXED.start))
    fixed[:, 0] = np.log(stack.total_mm / (2 * start.thickness_mm))
    fixed[:, 1] = np.log(thinner / start.thickness_mm)
    fixed[:, 2] = np.log(thickness)
    fixed[:, 3:] = [stack.adhesive_state is state for state in _STATES]
    return Place(is_canonical, start_logs(start), fixed, np.sqrt(thickness))


def response_of(size_over_root: Floats) -> Floats:
    """Return the response of sizes.

    Parameters
    ----------
    size_over_root : ndarray
        Size over √governing thickness. [mm^0.5]

    Returns
    -------
    ndarray of the same shape
        0 at the target, -2 for no weld at all.
    """
    return np.asarray(2 * (np.sqrt(size_over_root / TARGET_ROOT) - 1))


def size_over_root(response: Floats) -> Floats:
    """Return size over √governing thickness; what lies below no weld at all is none. [mm^0.5].

    Parameters
    ----------
    response : ndarray
        As `response_of` gives it.
    """
    return np.asarray(TARGET_ROOT * np.maximum(response / 2 + 1, 0) ** 2)


def wear(welds_since_dressing: int | None) -> float:
    """Return the input for electrode wear; not known counts as freshly dressed."""
    return float(np.log1p((welds_since_dressing or 0) / WELDS_SCALE))


def inputs(
    stack: Stack,
    electrode: Electrode,
    settings: Floats,
    rules: ShopRules,
    *,
    expelled: bool = False,
    welds_since_dressing: int | None = None,
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
    welds_since_dressing : int or None
        Welds on the caps since they were dressed; None counts as none.

    Returns
    -------
    ndarray of shape (n_interfaces, n_settings, n_features)
        Interfaces in the stack's canonical way up.

    Raises
    ------
    NoAdviceError
        Nothing published for this stack.
    """
    here = place(stack, rules)
    found = np.empty((len(here.root), len(settings), len(FEATURES)))
    found[:, :, :3] = np.log(settings) - here.start[:3]
    found[:, :, 3] = np.log(electrode.face_mm) - here.start[3]
    found[:, :, _FIXED] = here.fixed[:, None, :]
    found[:, :, _EXPELLED] = expelled
    found[:, :, _WEAR] = wear(welds_since_dressing)
    # The dials are the same at every interface, so are their curves.
    found[:, :, len(SLOPES) :] = curves(found[0, :, :3])
    return found


def curves(dials: Floats) -> Floats:
    """Return the columns `CURVES`.

    Parameters
    ----------
    dials : ndarray of shape (n_rows, 3)
        Logs of current, time and force over the published start.

    Returns
    -------
    ndarray of shape (n_rows, 6)
        Squares and products, each between -1 and 1.
    """
    current, time, force = np.tanh(dials).T
    return np.stack(
        [current**2, time**2, force**2, current * time, current * force, time * force], axis=1
    )


@dataclass
class _Gathered:
    """Cells of the rows so far, as plain lists: 100,000 small arrays would be slow."""

    dials: list[tuple[float, float, float, float]] = field(default_factory=list)
    starts: list[Floats] = field(default_factory=list)
    fixed: list[Floats] = field(default_factory=list)
    roots: list[float] = field(default_factory=list)
    sizes: list[float] = field(default_factory=list)
    marks: list[tuple[bool, bool, int]] = field(default_factory=list)
    numbers: list[int] = field(default_factory=list)

    def add(self, logged: LoggedCoupon, here: Place) -> None:
        """Add a row for each interface that says something."""
        coupon, dials = logged.coupon, dialled(logged.coupon)
        results = coupon.results if here.is_canonical else coupon.results[::-1]
        for index, result in enumerate(results):
            root = float(here.root[index])
            size = result.size_mm
            is_below = size is None and result.failure in WITHOUT_BUTTON
            if size is None and not is_below:
                continue
            self.dials.append(dials)
            self.starts.append(here.start)
            self.fixed.append(here.fixed[index])
            self.roots.append(root)
            self.sizes.append(NO_BUTTON_ROOT * root if size is None else size)
            self.marks.append((is_below, coupon.expulsion, coupon.welds_since_dressing or 0))
            self.numbers.append(logged.number)

    def rows(self, left_out: LeftOut) -> Rows:
        """Return the rows as arrays."""
        count = len(self.numbers)
        found = np.zeros((count, len(FEATURES)))
        marks = np.array(self.marks).reshape(count, 3)
        if count:
            found[:, :4] = np.log(self.dials) - np.array(self.starts)
            found[:, _FIXED] = self.fixed
            found[:, _EXPELLED] = marks[:, 1]
            found[:, _WEAR] = np.log1p(marks[:, 2] / WELDS_SCALE)
            found[:, len(SLOPES) :] = curves(found[:, :3])
        response = response_of(np.array(self.sizes) / np.array(self.roots))
        return Rows(found, response, marks[:, 0].astype(bool), tuple(self.numbers), left_out)


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
    coupons, gathered = list(coupons), _Gathered()
    lost = {"voided": 0, "no_start": 0, "no_size": 0}
    places: dict[int, Place | None] = {}
    for logged in coupons:
        reason = _unusable(logged)
        if not reason:
            stack = logged.coupon.stack
            # Coupons of one log often share the very same stack: spares its hash.
            if id(stack) not in places:
                places[id(stack)] = _place_or_none(stack, rules)
            here = places[id(stack)]
            if here is not None:
                gathered.add(logged, here)
                continue
            reason = "no_start"
        lost[reason] += 1
    return gathered.rows(LeftOut(**lost))


def _place_or_none(stack: Stack, rules: ShopRules) -> Place | None:
    try:
        return place(stack, rules)
    except (NoAdviceError, InputError):
        return None


def _unusable(logged: LoggedCoupon) -> str:
    if logged.voided:
        return "voided"
    return "" if any(map(_says_something, logged.coupon.results)) else "no_size"


def _says_something(result: InterfaceResult) -> bool:
    return result.smallest_mm is not None or result.failure in WITHOUT_BUTTON


def root_governing(stack: Stack, rules: ShopRules) -> Floats:
    """Return √governing thickness at each interface, canonical way up. [mm^0.5]."""
    return place(stack, rules).root


def latest_wear(coupons: Iterable[Coupon]) -> int | None:
    """Return the welds since dressing of the newest coupon, None without any."""
    newest = max(
        coupons, key=lambda each: (each.made_at, each.welds_since_dressing or 0), default=None
    )
    return None if newest is None else newest.welds_since_dressing
