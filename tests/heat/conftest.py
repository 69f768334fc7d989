"""Calculated welds that several tests look at, calculated once."""

import pytest

from advisor.heat.cases import published_cases
from advisor.heat.parameters import Options


class Welds:
    """Welds of published rows at the standard grid, remembered."""

    def __init__(self):
        self._known = {}

    def of(self, schedule):
        """Return (case, history) of every row of a schedule, thinnest first."""
        if schedule not in self._known:
            cases = published_cases((schedule,))
            self._known[schedule] = [(case, case.run(Options())) for case in cases]
        return self._known[schedule]


@pytest.fixture(scope="session")
def welds():
    return Welds()
