"""Hypothesis strategies for the things of the domain. Every value drawn is a valid one."""

from datetime import UTC, datetime

from hypothesis import strategies as st

from advisor.coupons.coupon import Coupon, InterfaceResult
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.failure import WITHOUT_DIAMETER, FailureType, TestType
from advisor.weld.machine import Machine
from advisor.weld.setting import Setting
from advisor.weld.sheet import Sheet, SteelFamily, Surface
from advisor.weld.stack import UNBONDED, AdhesiveState, Bond, Stack

ADHESIVES = ("Demo epoxy A", "Demo epoxy B")
WELDERS = ("Kim", "Robin, junior", 'Alex "Sandy" Müller')
MACHINES = ("gun 1", "gun 2")


def _steps(low: int, high: int, per_unit: int) -> st.SearchStrategy[float]:
    """Draw numbers as a dial or a caliper shows them: whole steps of 1/per_unit."""
    return st.integers(low, high).map(lambda n: n / per_unit)


def sheets(
    thickness_mm: st.SearchStrategy[float] | None = None,
    families: tuple[SteelFamily, ...] = tuple(SteelFamily),
    surfaces: tuple[Surface, ...] = tuple(Surface),
) -> st.SearchStrategy[Sheet]:
    """Draw a sheet of 0.40 to 3.00 mm, to 0.01 mm."""
    return st.builds(
        Sheet,
        _steps(40, 300, 100) if thickness_mm is None else thickness_mm,
        st.sampled_from(families),
        st.sampled_from(surfaces),
        st.sampled_from(surfaces),
        st.sampled_from(("", "grade 340", 'DX54D, "soft"')),
    )


def bonds(bonded: bool | None = None) -> st.SearchStrategy[Bond]:
    """Draw what lies at an interface; `bonded` fixes whether there is adhesive."""
    states = [s for s in AdhesiveState if s is not AdhesiveState.NONE]
    glued = st.builds(Bond, st.sampled_from(ADHESIVES), st.sampled_from(states))
    if bonded is None:
        return st.just(UNBONDED) | glued
    return glued if bonded else st.just(UNBONDED)


@st.composite
def stacks(
    draw: st.DrawFn,
    fewest: int = 2,
    most: int = 4,
    bonded: bool | None = None,
    families: tuple[SteelFamily, ...] = tuple(SteelFamily),
    surfaces: tuple[Surface, ...] = tuple(Surface),
) -> Stack:
    """Draw a stack within the ratio of 3:1."""
    count = draw(st.integers(fewest, most))
    thin = draw(st.integers(40, 300))
    thick = min(300, 3 * thin)
    hundredths = draw(
        st.lists(st.integers(thin, thick), min_size=count - 1, max_size=count - 1).flatmap(
            lambda others: st.permutations([thin, *others])
        )
    )
    return Stack(
        tuple(draw(sheets(st.just(n / 100), families, surfaces)) for n in hundredths),
        tuple(draw(bonds(bonded)) for _ in range(count - 1)),
    )


@st.composite
def settings(draw: st.DrawFn) -> Setting:
    """Draw a setting as it is dialled in, with and without pulses and a pre-pulse."""
    pulses = draw(st.integers(1, 4))
    has_pre_pulse = draw(st.booleans())
    return Setting(
        current_kA=draw(_steps(20, 200, 10)),
        weld_ms=draw(_steps(40, 1000, 1)),
        force_kN=draw(_steps(5, 80, 10)),
        squeeze_ms=draw(_steps(0, 1000, 1)),
        hold_ms=draw(_steps(0, 500, 1)),
        pulses=pulses,
        pause_ms=draw(_steps(10, 200, 1)) if pulses > 1 else 0.0,
        pre_current_kA=draw(_steps(10, 60, 10)) if has_pre_pulse else 0.0,
        pre_ms=draw(_steps(10, 200, 1)) if has_pre_pulse else 0.0,
    )


def electrodes() -> st.SearchStrategy[Electrode]:
    """Draw a pair of caps with a face of 3.0 to 16.0 mm."""
    return st.builds(
        Electrode,
        st.sampled_from(CapShape),
        _steps(30, 160, 10),
        st.sampled_from(("CuCrZr", "")),
    )


@st.composite
def _results(draw: st.DrawFn) -> InterfaceResult:
    failure = draw(st.none() | st.sampled_from(FailureType))
    if failure in WITHOUT_DIAMETER or not draw(st.booleans()):
        return InterfaceResult(failure=failure)
    smallest, largest = sorted(draw(_steps(50, 2000, 100)) for _ in range(2))
    return InterfaceResult(smallest, largest, failure)


def results_for(stack: Stack) -> st.SearchStrategy[tuple[InterfaceResult, ...]]:
    """Draw one result for each interface of a stack, finished or not."""
    return st.tuples(*(_results() for _ in stack.interfaces))


def moments() -> st.SearchStrategy[datetime]:
    """Draw a time in 2026, in UTC, to the microsecond."""
    return st.datetimes(
        datetime(2026, 1, 1), datetime(2026, 12, 31), timezones=st.just(UTC)
    )  # bounds carry no zone by the strategy's own rule


@st.composite
def coupons(
    draw: st.DrawFn, stack: st.SearchStrategy[Stack] | None = None, **fixed: object
) -> Coupon:
    """Draw a coupon; keyword arguments fix fields of `Coupon`."""
    drawn = draw(stacks() if stack is None else stack)
    fields: dict[str, object] = {
        "made_at": draw(moments()),
        "welder": draw(st.sampled_from(WELDERS)),
        "machine": draw(st.sampled_from(MACHINES)),
        "electrode": draw(electrodes()),
        "stack": drawn,
        "setting": draw(settings()),
        "results": draw(results_for(drawn)),
        "test": draw(st.sampled_from(TestType)),
        "expulsion": draw(st.booleans()),
        "edge_weld": draw(st.booleans()),
        "cracks": draw(st.booleans()),
        "job": draw(st.sampled_from(("", "RO 1", "RO 2"))),
        "welds_since_dressing": draw(st.none() | st.integers(0, 500)),
        "notes": draw(st.sampled_from(("", "smoky", 'he said "ok", then\nleft; =1+1'))),
    }
    return Coupon(**(fields | fixed))


@st.composite
def machines(draw: st.DrawFn) -> Machine:
    """Draw a machine, with or without a calibration of its air pressure."""
    per_bar = draw(st.none() | _steps(10, 100, 100))
    return Machine(
        name=draw(st.sampled_from(MACHINES)),
        largest_current_kA=draw(_steps(80, 200, 10)),
        largest_force_kN=draw(_steps(20, 80, 10)),
        mains_hz=draw(st.sampled_from((50.0, 60.0))),
        is_inverter=draw(st.booleans()),
        smallest_current_kA=draw(_steps(10, 40, 10)),
        smallest_force_kN=draw(_steps(5, 15, 10)),
        force_kN_per_bar=per_bar,
        force_offset_kN=draw(_steps(-20, 20, 100)) if per_bar else 0.0,
    )
