"""One welded and tested piece, as it is written down at the bench."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

from advisor.errors import InputError
from advisor.weld.electrode import Electrode
from advisor.weld.failure import WITHOUT_DIAMETER, FailureType, TestType
from advisor.weld.setting import Setting
from advisor.weld.size import button_size_mm
from advisor.weld.stack import Stack

_SMALLEST_MM, _LARGEST_MM = 0.5, 20.0
_MM_PER_INCH = 25.4
_CLOCK_SLACK = timedelta(minutes=5)


@dataclass(frozen=True)
class InterfaceResult:
    """What was found at one interface after the test.

    Parameters
    ----------
    smallest_mm, largest_mm : float or None
        Smallest and largest diameter; None when there was nothing to measure, or not yet. [mm]
    failure : FailureType or None
        How the interface failed; None when not written down yet.
    """

    smallest_mm: float | None = None
    largest_mm: float | None = None
    failure: FailureType | None = None

    def __post_init__(self) -> None:
        if (self.smallest_mm is None) != (self.largest_mm is None):
            raise InputError(
                "only one diameter was given; measure the smallest and the largest, "
                "or enter the same number twice for a round button"
            )
        if self.smallest_mm is None or self.largest_mm is None:
            return
        if self.failure in WITHOUT_DIAMETER:
            raise InputError(
                f"'no fusion' was chosen but a diameter of {self.largest_mm:g} mm was given; "
                "clear the diameters, or choose how the weld really failed"
            )
        for value in (self.smallest_mm, self.largest_mm):
            _check_diameter(value)
        if self.smallest_mm > self.largest_mm:
            raise InputError(
                f"the smallest diameter, {self.smallest_mm:g} mm, is larger than the largest, "
                f"{self.largest_mm:g} mm; swap them or measure again"
            )

    @property
    def size_mm(self) -> float | None:
        """Mean of the two diameters (AWS D8.1M:2013, cl. 3), None without a reading. [mm]."""
        if self.smallest_mm is None or self.largest_mm is None:
            return None
        return button_size_mm(self.smallest_mm, self.largest_mm)


def is_from_the_future(made_at: datetime, now: datetime) -> bool:
    """Whether a coupon is dated later than five minutes from now."""
    return made_at.astimezone(UTC) > now.astimezone(UTC) + _CLOCK_SLACK


def _check_diameter(value: float) -> None:
    if _SMALLEST_MM <= value <= _LARGEST_MM:
        return
    in_mm = value * _MM_PER_INCH
    if value > 0 and _SMALLEST_MM <= in_mm <= _LARGEST_MM:
        hint = f"; if that was inches it is {in_mm:.2f} mm: change the unit to in"
    elif value <= 0:
        hint = "; with nothing to measure leave it empty and choose 'no fusion'"
    else:
        hint = "; check the decimal point"
    raise InputError(
        f"diameter is {value:g} mm; it must be {_SMALLEST_MM:g} to {_LARGEST_MM:g} mm{hint}"
    )


@dataclass(frozen=True)
class Coupon:
    """One coupon.

    Parameters
    ----------
    made_at : datetime
        When it was welded, with its time zone.
    welder, machine : str
        Who welded it and on which machine, by the shop's names.
    electrode : Electrode
        Caps as they were dressed.
    stack : Stack
        Sheets and interfaces as welded.
    setting : Setting
        What was dialled in.
    results : tuple of InterfaceResult
        One an interface, in the stack's order.
    test : TestType
        Peel or chisel.
    expulsion, edge_weld, cracks : bool
        Metal was thrown out; the electrode mark crosses a sheet edge; a crack is visible.
    job : str
        Repair order it was made for; empty for none.
    welds_since_dressing : int or None
        Welds on the caps since they were dressed.
    notes : str
        Free text.
    """

    made_at: datetime
    welder: str
    machine: str
    electrode: Electrode
    stack: Stack
    setting: Setting
    results: tuple[InterfaceResult, ...] = ()
    test: TestType = TestType.PEEL
    expulsion: bool = False
    edge_weld: bool = False
    cracks: bool = False
    job: str = ""
    welds_since_dressing: int | None = None
    notes: str = ""

    def __post_init__(self) -> None:
        if self.made_at.tzinfo is None:
            raise InputError("the time of a coupon needs its time zone")
        for what, name in (("welder", self.welder), ("machine", self.machine)):
            if not name.strip():
                raise InputError(f"no {what} is named; choose one (the list is under Shop set-up)")
        expected = len(self.stack.interfaces)
        if not self.results:
            object.__setattr__(self, "results", (InterfaceResult(),) * expected)
        if len(self.results) != expected:
            raise InputError(
                f"a stack of {len(self.stack.sheets)} sheets has {expected} interfaces; "
                f"results were given for {len(self.results)}"
            )
        if self.welds_since_dressing is not None and not 0 <= self.welds_since_dressing < 100_000:
            raise InputError(
                f"welds since dressing is {self.welds_since_dressing}; it must be 0 to 99,999"
            )

    def check_time(self, now: datetime) -> None:
        """Refuse a coupon from the future (five minutes are allowed for clocks that differ)."""
        if is_from_the_future(self.made_at, now):
            made = self.made_at.astimezone(now.tzinfo)
            raise InputError(
                f"the coupon is dated {made:%Y-%m-%d %H:%M}, which is in the future "
                f"(now {now:%Y-%m-%d %H:%M}); correct the date, or the clock of this computer"
            )

    def turned_over(self) -> Coupon:
        """Return the same coupon written down with the stack the other way up."""
        return replace(self, stack=self.stack.turned_over(), results=tuple(reversed(self.results)))
