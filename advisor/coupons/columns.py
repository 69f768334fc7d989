"""What the columns of a coupon table are called in words, and what foreign ones probably mean."""

from __future__ import annotations

import re
from collections.abc import Sequence

from advisor.coupons.importing import From, kind_of
from advisor.language import msg, say
from advisor.units import FIELDS
from advisor.weld.electrode import CapShape
from advisor.weld.failure import FailureType, TestType
from advisor.weld.sheet import SteelFamily, Surface
from advisor.weld.stack import AdhesiveState
from advisor.weld.words import TradeWord

_TITLES = {
    "made_at": msg("Welded at (date and time)"),
    "welder": msg("Welder"),
    "machine": msg("Machine"),
    "job": msg("Job"),
    "test": msg("Test type"),
    "cap_shape": msg("Cap shape"),
    "face_mm": msg("Cap face diameter"),
    "cap_material": msg("Cap material"),
    "welds_since_dressing": msg("Welds since dressing"),
    "current_kA": msg("Weld current"),
    "weld_ms": msg("Weld time"),
    "force_kN": msg("Electrode force"),
    "squeeze_ms": msg("Squeeze"),
    "hold_ms": msg("Hold"),
    "pause_ms": msg("Pause"),
    "pre_current_kA": msg("Pre-pulse current"),
    "pre_ms": msg("Pre-pulse time"),
    "pulses": msg("Pulses"),
    "expulsion": msg("Expulsion"),
    "edge_weld": msg("Edge weld"),
    "cracks": msg("Crack"),
    "notes": msg("Notes"),
}
#: Of each sheet, bond and interface, without its number.
_NUMBERED = {
    "sheet_thickness_mm": msg("Sheet {number}, thickness"),
    "sheet_family": msg("Sheet {number}, family"),
    "sheet_upper": msg("Sheet {number}, upper"),
    "sheet_lower": msg("Sheet {number}, lower"),
    "sheet_grade": msg("Sheet {number}, grade"),
    "bond_adhesive": msg("Bond {number}, adhesive"),
    "bond_state": msg("Bond {number}, state"),
    "interface_smallest_mm": msg("Interface {number}, smallest ⌀"),
    "interface_largest_mm": msg("Interface {number}, largest ⌀"),
    "interface_failure": msg("Interface {number}, failure"),
}
_WORDS: dict[str, type[TradeWord]] = {
    "failure": FailureType,
    "family": SteelFamily,
    "upper": Surface,
    "lower": Surface,
    "state": AdhesiveState,
    "shape": CapShape,
    "test": TestType,
}
_LIKELY = {
    "current_kA": r"current|\bamps?\b|^\s*k?a\b|\(k?a\)",
    "weld_ms": r"weld.*(time|ms)|^(time|duration|cycles?|ms)\b",
    "force_kN": r"force|pressure|\bpsi\b|\bbar\b",
    "face_mm": r"face|tip",
    "interface1_largest_mm": r"nugget|button|\bdiam|weld.?size",
    "made_at": r"date|made|when",
    "welder": r"welder|operator",
    "notes": r"note|comment",
}
_UNIT_WORDS = {"in": ("in", "inch"), "cycle": ("cycle", "cycles"), "lbf": ("lbf", "lb", "lbs")}


def title(target: str) -> str:
    """Return the words for a column of a coupon table.

    Parameters
    ----------
    target : str
        One of `flat.COLUMNS`.
    """
    numbered = re.fullmatch(r"(sheet|bond|interface)(\d)_(\w+)", target)
    if numbered is None:
        return say(_TITLES[target])
    kind, number, part = numbered.groups()
    return say(_NUMBERED[f"{kind}_{part}"], number=number)


def words_of(target: str) -> type[TradeWord] | None:
    """Return the closed list a text column takes its words from, None for free text."""
    return _WORDS.get(target.rpartition("_")[2])


def guess_map(header: Sequence[str]) -> dict[str, From]:
    """Guess which column is what from its name, and its unit from the name's end.

    Parameters
    ----------
    header : sequence of str
        Column names of a foreign file.

    Returns
    -------
    dict of str to From
        Only what a name suggests; a person confirms or corrects it.
    """
    thick = [name for name in header if re.search(r"thick|\bthk", name, re.IGNORECASE)][:2]
    found = {f"sheet{n}_thickness_mm": name for n, name in enumerate(thick, start=1)}
    for target, pattern in _LIKELY.items():
        for name in header:
            if name not in found.values() and re.search(pattern, name, re.IGNORECASE):
                found[target] = name
                break
    return {target: From(name, _unit(target, name)) for target, name in found.items()}


def _unit(target: str, name: str) -> str:
    kind = kind_of(target)
    if not kind:
        return ""
    said = {word.casefold() for word in re.split(r"[^A-Za-z]+", name)}
    for unit in FIELDS[kind].allowed:
        if {word.casefold() for word in _UNIT_WORDS.get(unit, (unit,))} & said:
            return unit
    return FIELDS[kind].unit
