"""What is dialled in for one weld."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from advisor.errors import InputError
from advisor.language import msg, say

#: Two settings are the same when they agree to half a step of a machine's dial. Choice of this
#: project: as finely as usual dials and displays go.
CURRENT_STEP_KA, TIME_STEP_MS, FORCE_STEP_KN = 0.1, 1.0, 0.1
#: Fields of a setting that are measured numbers, the three that are always given first.
NUMBERS = (
    "current_kA",
    "weld_ms",
    "force_kN",
    "squeeze_ms",
    "hold_ms",
    "pause_ms",
    "pre_current_kA",
    "pre_ms",
)


@dataclass(frozen=True)
class Setting:
    """One setting of the machine.

    Parameters
    ----------
    current_kA : float
        Weld current. [kA]
    weld_ms : float
        Time with current on, all pulses together, pre-pulse left out. [ms]
    force_kN : float
        Electrode force. [kN]
    squeeze_ms, hold_ms : float
        Force on before the current, and after it. [ms]
    pulses : int
        Number of equal pulses that share `weld_ms`.
    pause_ms : float
        Pause between two pulses. [ms]
    pre_current_kA, pre_ms : float
        Current and length of a pulse before the weld; both 0 for none. [kA], [ms]
    """

    current_kA: float
    weld_ms: float
    force_kN: float
    squeeze_ms: float = 0.0
    hold_ms: float = 0.0
    pulses: int = 1
    pause_ms: float = 0.0
    pre_current_kA: float = 0.0
    pre_ms: float = 0.0

    def __post_init__(self) -> None:
        _positive(msg("weld current"), self.current_kA, "kA", 0.3, 40)
        _positive(msg("weld time"), self.weld_ms, "ms", 10, 5000)
        _positive(msg("electrode force"), self.force_kN, "kN", 0.05, 20)
        for name, value in (
            (msg("squeeze time"), self.squeeze_ms),
            (msg("hold time"), self.hold_ms),
            (msg("pause"), self.pause_ms),
            (msg("pre-pulse time"), self.pre_ms),
        ):
            if not 0 <= value <= 10_000:
                raise InputError(
                    say(
                        "{what} is {value:g} ms; it must be 0 to {most:,} ms",
                        what=say(name),
                        value=value,
                        most=10_000,
                    )
                )
        if not 1 <= self.pulses <= 20:
            raise InputError(
                say("the weld has {pulses} pulses; it must be 1 to 20", pulses=self.pulses)
            )
        self._check_pre_pulse()

    def _check_pre_pulse(self) -> None:
        if not 0 <= self.pre_current_kA <= 40:
            raise InputError(
                say(
                    "pre-pulse current is {current:g} kA; give 0 to 40 kA",
                    current=self.pre_current_kA,
                )
            )
        if (self.pre_current_kA > 0) != (self.pre_ms > 0):
            raise InputError(
                say(
                    "a pre-pulse needs a current and a time; give both, or 0 for both when there "
                    "is none"
                )
            )

    def same_as(self, other: Setting) -> bool:
        """Whether both are one setting, to half a step of a machine's dial."""
        return next(self._differing(other), None) is None

    def main_steps(self) -> tuple[tuple[str, float, float], ...]:
        """Return current, weld time and force: field, value, and the step of a machine's dial."""
        return (
            ("current_kA", self.current_kA, CURRENT_STEP_KA),
            ("weld_ms", self.weld_ms, TIME_STEP_MS),
            ("force_kN", self.force_kN, FORCE_STEP_KN),
        )

    def differences(self, other: Setting) -> list[str]:
        """Return in words what differs, ours first; empty when both are the same."""
        return [_not_theirs(*each) for each in self._differing(other)]

    def _differing(self, other: Setting) -> Iterator[tuple[str, str, float, float]]:
        """Yield field, unit, our value and theirs of all that differs."""
        for name, unit, step in (
            ("current_kA", "kA", CURRENT_STEP_KA),
            ("weld_ms", "ms", TIME_STEP_MS),
            ("force_kN", "kN", FORCE_STEP_KN),
            ("squeeze_ms", "ms", TIME_STEP_MS),
            ("hold_ms", "ms", TIME_STEP_MS),
            ("pulses", "", 1),
            ("pause_ms", "ms", TIME_STEP_MS),
            ("pre_current_kA", "kA", CURRENT_STEP_KA),
            ("pre_ms", "ms", TIME_STEP_MS),
        ):
            mine, theirs = getattr(self, name), getattr(other, name)
            # without the 1e-9 a half step would depend on which two numbers it lies between
            if abs(mine - theirs) >= step / 2 - 1e-9:
                yield name, unit, mine, theirs


_NAMES = {
    "current_kA": msg("weld current"),
    "weld_ms": msg("weld time"),
    "force_kN": msg("force"),
    "squeeze_ms": msg("squeeze"),
    "hold_ms": msg("hold"),
    "pulses": msg("pulses"),
    "pause_ms": msg("pause"),
    "pre_current_kA": msg("pre-pulse current"),
    "pre_ms": msg("pre-pulse time"),
}


def _not_theirs(name: str, unit: str, mine: float, theirs: float) -> str:
    what = say(_NAMES[name])
    if not unit:
        return say("{what} {mine:g}, not {theirs:g}", what=what, mine=mine, theirs=theirs)
    return say(
        "{what} {mine:g} {unit}, not {theirs:g} {unit}",
        what=what,
        mine=mine,
        theirs=theirs,
        unit=unit,
    )


def _positive(name: str, value: float, unit: str, low: float, high: float) -> None:
    if low <= value <= high:
        return
    limits = {"low": low, "high": high, "unit": unit}
    if value > 0:
        raise InputError(
            say(
                "{what} is {value:g} {unit}; it must be {low:g} to {high:g} {unit} (check the unit "
                "beside the number)",
                what=say(name),
                value=value,
                **limits,
            )
        )
    raise InputError(
        say(
            "{what} is {value:g} {unit}; it must be {low:g} to {high:g} {unit}",
            what=say(name),
            value=value,
            **limits,
        )
    )
