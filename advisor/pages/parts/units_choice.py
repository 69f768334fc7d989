"""The units one person reads and types; remembered with their name."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from advisor.language import figure
from advisor.units import (
    FIELDS,
    NO_CALIBRATION,
    Calibration,
    digits,
    from_inner,
    label,
    show,
    units_for,
)
from advisor.weld.setting import Setting

#: Fields a person can choose a unit for; thickness and diameter go together as lengths.
CHOICES = {
    "length": ("mm", "in"),
    "current": FIELDS["current"].allowed,
    "time": FIELDS["time"].allowed,
    "force": FIELDS["force"].allowed,
}
_LENGTHS = ("thickness", "diameter", "length")


@dataclass(frozen=True)
class UnitChoice:
    """Chosen unit for each of `CHOICES`; anything else is shown in the field's inner unit."""

    chosen: Mapping[str, str]

    @classmethod
    def read(cls, stored: Mapping[str, str]) -> UnitChoice:
        """Take from stored preferences what is still a known unit."""
        chosen = {
            name: stored.get(f"unit_{name}", units[0])
            if stored.get(f"unit_{name}") in units
            else units[0]
            for name, units in CHOICES.items()
        }
        return cls(chosen)

    def stored(self) -> dict[str, str]:
        """Return what is to be remembered."""
        return {f"unit_{name}": unit for name, unit in self.chosen.items()}

    def unit(self, field: str, calibration: Calibration = NO_CALIBRATION) -> str:
        """Return the unit for a field; the inner unit where this machine lacks the calibration."""
        name = "length" if field in _LENGTHS else field
        unit = self.chosen.get(name, FIELDS[field].unit)
        return unit if unit in units_for(field, calibration) else FIELDS[field].unit

    def show(
        self, field: str, value: float | None, calibration: Calibration = NO_CALIBRATION
    ) -> str:
        """Write an inner value with its unit."""
        return show(field, value, self.unit(field, calibration), calibration)

    def dials(self, setting: Setting, calibration: Calibration = NO_CALIBRATION) -> list[str]:
        """Write current, time and force of a setting, each with its unit."""
        return [
            self.show("current", setting.current_kA, calibration),
            self.show("time", setting.weld_ms, calibration),
            self.show("force", setting.force_kN, calibration),
        ]

    def split(self, field: str, value: float, calibration: Calibration) -> tuple[str, str]:
        """Return number and unit apart, for big figures."""
        unit = self.unit(field, calibration)
        number = from_inner(field, value, unit, calibration)
        return figure(number, f".{digits(field, unit)}f"), label(unit)
