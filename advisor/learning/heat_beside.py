"""What the heat model says of the slopes, beside what is believed before any coupon.

The heat model (``reference/heat_slopes.csv``) knows nothing of `advisor.learning.prior`, nor that
of it, and coupons move neither table: where the two are far apart, one of them is off, and only
coupons tell which.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from advisor.learning.prior import Belief, load_prior
from advisor.resources import reference
from advisor.weld.published import Schedule

SLOPES_FILE = "heat_slopes.csv"
#: Columns of the table that a belief of the same name speaks of; the thickness slope of the table
#: is at an unchanged setting, that of the beliefs along the published starts.
_COMMON = ("current", "time", "force", "face")
#: Rows of other schedules are predictions of the heat model that are known to come out too hot.
_UNCOATED = (Schedule.MEDIUM_FORCE, Schedule.HIGH_FORCE)


@dataclass(frozen=True)
class Beside:
    """One slope by both.

    Parameters
    ----------
    belief : Belief
        What is believed before any coupon.
    lowest, middle, highest : float
        Smallest, median and largest of the heat model's slopes over the uncoated published rows:
        change of the logarithm of the size with that of the input.
    """

    belief: Belief
    lowest: float
    middle: float
    highest: float

    @property
    def apart(self) -> float:
        """How far the heat model's median is from the belief, in standard deviations of it."""
        return (self.middle - self.belief.mean) / self.belief.sd

    @property
    def agrees(self) -> bool:
        """Whether the median lies within two standard deviations of the belief."""
        return abs(self.apart) <= 2


def beside_the_prior() -> list[Beside]:
    """Return the slopes that both tables speak of: current, time, force, face, thickness."""
    beliefs = {each.name: each for each in load_prior().slopes}
    table = pd.read_csv(reference(SLOPES_FILE))
    rows = table[table["schedule"].isin(_UNCOATED)]
    found = [_beside(beliefs[name], rows[name].to_numpy()) for name in _COMMON]
    along = [_along_starts(part) for _, part in rows.groupby("schedule")]
    return [*found, _beside(beliefs["thickness"], np.array(along))]


def _beside(belief: Belief, slopes: np.ndarray) -> Beside:
    return Beside(belief, float(slopes.min()), float(np.median(slopes)), float(slopes.max()))


def _along_starts(rows: pd.DataFrame) -> float:
    """Return how the logarithm of size over √t moves with that of t at the published middles."""
    logs = np.log(rows[["thickness_mm", "over_root"]].to_numpy())
    return float(np.polyfit(logs[:, 0], logs[:, 1], 1)[0])
