"""One welded and tested piece, as it is written down at the bench."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

from advisor.errors import InputError
from advisor.language import msg, say
from advisor.weld.electrode import Electrode
from advisor.weld.failure import WITHOUT_DIAMETER, FailureType, TestType
from advisor.weld.setting import Setting
from advisor.weld.size import button_size_mm
from advisor.weld.stack import Stack

#: Diameters that a coupon can hold. Choice of this project: what is smaller or larger is a slip or
#: another unit.
_SMALLEST_MM, _LARGEST_MM = 0.5, 20.0
_MM_PER_INCH = 25.4
#: How far the clocks of two tablets may disagree before a coupon is of the future. Choice of this
#: project.
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
                say(
                    "only one diameter was given; measure the smallest and the largest, or enter "
                    "the same number twice for a round button"
                )
            )
        if self.smallest_mm is None or self.largest_mm is None:
            return
        if self.failure in WITHOUT_DIAMETER:
            raise InputError(
                say(
                    "'no fusion' was chosen but a diameter of {diameter:g} mm was given; clear the "
                    "diameters, or choose how the weld really failed",
                    diameter=self.largest_mm,
                )
            )
        for value in (self.smallest_mm, self.largest_mm):
            _check_diameter(value)
        if self.smallest_mm > self.largest_mm:
            raise InputError(
                say(
                    "the smallest diameter, {smallest:g} mm, is larger than the largest, "
                    "{largest:g} mm; swap them or measure again",
                    smallest=self.smallest_mm,
                    largest=self.largest_mm,
                )
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
        message = _MAYBE_INCHES
    else:
        message = _NOTHING_THERE if value <= 0 else _MAYBE_A_SLIP
    raise InputError(say(message, diameter=value, low=_SMALLEST_MM, high=_LARGEST_MM, in_mm=in_mm))


_MAYBE_INCHES = msg(
    "diameter is {diameter:g} mm; it must be {low:g} to {high:g} mm; if that was inches it is "
    "{in_mm:.2f} mm: change the unit to in"
)
_NOTHING_THERE = msg(
    "diameter is {diameter:g} mm; it must be {low:g} to {high:g} mm; with nothing to measure leave "
    "it empty and choose 'no fusion'"
)
_MAYBE_A_SLIP = msg(
    "diameter is {diameter:g} mm; it must be {low:g} to {high:g} mm; check the decimal point"
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
            raise InputError(say("the time of a coupon needs its time zone"))
        self._check_names()
        expected = len(self.stack.interfaces)
        if not self.results:
            object.__setattr__(self, "results", (InterfaceResult(),) * expected)
        if len(self.results) != expected:
            raise InputError(
                say(
                    "a stack of {sheets} sheets has {interfaces} interfaces; results were given "
                    "for {given}",
                    sheets=len(self.stack.sheets),
                    interfaces=expected,
                    given=len(self.results),
                )
            )
        if self.welds_since_dressing is not None and not 0 <= self.welds_since_dressing < 100_000:
            raise InputError(
                say(
                    "welds since dressing is {welds}; it must be 0 to {most:,}",
                    welds=self.welds_since_dressing,
                    most=99_999,
                )
            )

    def _check_names(self) -> None:
        for name, unnamed in (
            (self.welder, msg("no welder is named; choose one (the list is under Shop set-up)")),
            (self.machine, msg("no machine is named; choose one (the list is under Shop set-up)")),
        ):
            if not name.strip():
                raise InputError(say(unnamed))

    def check_time(self, now: datetime) -> None:
        """Refuse a coupon from the future (five minutes are allowed for clocks that differ)."""
        if is_from_the_future(self.made_at, now):
            made = self.made_at.astimezone(now.tzinfo)
            raise InputError(
                say(
                    "the coupon is dated {made:%Y-%m-%d %H:%M}, which is in the future (now "
                    "{now:%Y-%m-%d %H:%M}); correct the date, or the clock of this computer",
                    made=made,
                    now=now,
                )
            )

    def turned_over(self) -> Coupon:
        """Return the same coupon written down with the stack the other way up."""
        return replace(self, stack=self.stack.turned_over(), results=tuple(reversed(self.results)))
