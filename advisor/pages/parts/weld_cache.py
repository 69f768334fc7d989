"""Calculated welds, remembered for everybody: a rough one at once, the whole one when done."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from dataclasses import replace
from typing import Any

from advisor.heat.history import WeldHistory
from advisor.heat.parameters import Options
from advisor.teaching.figures import Cell, window
from advisor.teaching.lesson import Shown

ROUGH, WHOLE = Options(fineness=0.5, steps=80), Options()
_MOST = 64
_kept: OrderedDict[Hashable, Any] = OrderedDict()
_turn = threading.Lock()


def rough(shown: Shown) -> WeldHistory:
    """Return a weld on a coarse grid: there within a tenth of a second."""
    found: WeldHistory = _kept_or("rough", shown, lambda: shown.run(ROUGH))
    return found


def whole(shown: Shown, progress: Callable[[float], None] | None = None) -> WeldHistory:
    """Return a weld on the usual grid.

    Parameters
    ----------
    shown : Shown
        The weld.
    progress : callable, optional
        Is told which share is done, while it is calculated.
    """
    found: WeldHistory = _kept_or("whole", shown, lambda: shown.run(WHOLE, progress))
    return found


def is_whole(shown: Shown) -> bool:
    """Return whether the weld on the usual grid is there already."""
    return ("whole", _what(shown)) in _kept


def cells(shown: Shown, progress: Callable[[float], None] | None = None) -> list[Cell]:
    """Return the window of a stack; parameters as for `whole`."""
    found: list[Cell] = _kept_or("window", shown, lambda: window(shown, progress))
    return found


def is_mapped(shown: Shown) -> bool:
    """Return whether the window is there already."""
    return ("window", _what(shown)) in _kept


def _what(shown: Shown) -> Shown:
    """Return a weld without its names: those change nothing."""
    return replace(shown, name="", what="")


def _kept_or(kind: str, shown: Shown, make: Callable[[], Any]) -> Any:
    key = (kind, _what(shown))
    with _turn:
        if key in _kept:
            _kept.move_to_end(key)
            return _kept[key]
    made = make()
    with _turn:
        _kept[key] = made
        while len(_kept) > _MOST:
            _kept.popitem(last=False)
    return made
