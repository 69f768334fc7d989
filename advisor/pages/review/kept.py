"""What the views read of the log, kept until something is written.

A page is run anew at every touch, and most touches write nothing.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any, cast

import streamlit as st

from advisor.language import language
from advisor.store.log import Log

#: Readings that follow from their arguments and from what the log holds.
_READINGS = frozenset(
    {
        "caps",
        "counts",
        "counts_by_time",
        "drift_coupons",
        "electrodes",
        "events",
        "failures",
        "foretold_bins",
        "foretold_sums",
        "machines",
        "pass_counts",
        "releases_between",
        "rules",
        "strata",
        "voided_between",
        "waiting",
    }
)
#: For so long a reading stands that depends on the hour: coverage ends by the day. Choice of this
#: project. [s]
_FRESH_S = 60


def kept(log: Log) -> Log:
    """Return a log that reads the same again only when something was written, or a minute later.

    Parameters
    ----------
    log : Log
        The log. What it returns is shared by all who ask and must not be changed.
    """
    return cast("Log", _Kept(log))


class _Kept:
    def __init__(self, log: Log) -> None:
        self._log = log
        minute = int(time.time() // _FRESH_S)
        self._state = f"{log.url} {log.newest_seals()} {minute}"

    def __getattr__(self, name: str) -> Any:
        found = getattr(self._log, name)
        if name not in _READINGS:
            return found

        def read(*args: object, **options: object) -> Any:
            asked = repr((name, args, sorted(options.items()), language()))
            return _reading(self._state, asked, lambda: found(*args, **options))

        return read


@st.cache_resource(max_entries=100, show_spinner=False)
def _reading(state: str, asked: str, _read: Callable[[], Any]) -> Any:
    return _read()
