"""What is believed before any coupon: ``reference/prior_slopes.csv``, each row with its reason."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import pandas as pd

from advisor.errors import InputError
from advisor.learning.features import FEATURES, Floats
from advisor.resources import reference

PRIOR_FILE = "prior_slopes.csv"
_INTERCEPT = "size_at_start"
_NOISE = ("noise_sd", "noise_dof")


@dataclass(frozen=True)
class Belief:
    """A number that is not known: mean and standard deviation, why, and who says so."""

    name: str
    mean: float
    sd: float
    reason: str
    source: str


@dataclass(frozen=True)
class Prior:
    """The table of beliefs, ready for the regression.

    Parameters
    ----------
    size_at_start : Belief
        log(size / √governing thickness) at the published start.
    slopes : tuple of Belief
        One an input, in the order of `FEATURES`: change of log size per unit of the input.
    noise_sd : float
        Weld-to-weld scatter of log size at one setting.
    noise_dof : float
        Degrees of freedom that `noise_sd` is worth.
    """

    size_at_start: Belief
    slopes: tuple[Belief, ...]
    noise_sd: float
    noise_dof: float

    @property
    def slope_means(self) -> Floats:
        """Means of the slopes, in the order of `FEATURES`."""
        return np.array([belief.mean for belief in self.slopes])

    @property
    def slope_sds(self) -> Floats:
        """Standard deviations of the slopes, in the order of `FEATURES`."""
        return np.array([belief.sd for belief in self.slopes])


def read_prior(path: Path) -> Prior:
    """Read a table of beliefs.

    Parameters
    ----------
    path : Path
        CSV with the columns ``name, mean, sd, reason, source``.

    Returns
    -------
    Prior
        The beliefs.

    Raises
    ------
    InputError
        A row is missing or too many, or a width is not positive.
    """
    table = pd.read_csv(path, keep_default_na=False, na_values={"sd": [""]})
    beliefs = {
        row["name"]: Belief(
            row["name"], float(row["mean"]), float(row["sd"]), row["reason"], row["source"]
        )
        for row in table.to_dict("records")
    }
    wanted = (_INTERCEPT, *FEATURES, *_NOISE)
    if sorted(table["name"]) != sorted(wanted):
        differing = set(table["name"]).symmetric_difference(wanted)
        raise InputError(
            f"{path.name} must have one row for each of {', '.join(wanted)}; "
            f"missing, unknown or twice: {', '.join(sorted(differing)) or 'a name given twice'}"
        )
    uncertain = tuple(beliefs[name] for name in FEATURES)
    noise_sd, noise_dof = (beliefs[name].mean for name in _NOISE)
    widths = [(belief.name, belief.sd) for belief in (beliefs[_INTERCEPT], *uncertain)]
    for name, width in [*widths, ("noise_sd", noise_sd), ("noise_dof", noise_dof)]:
        if not width > 0:
            raise InputError(f"{path.name}: the width of {name} is {width:g}; it must be above 0")
    return Prior(beliefs[_INTERCEPT], uncertain, noise_sd, noise_dof)


@cache
def load_prior() -> Prior:
    """Return the beliefs the tool is shipped with."""
    return read_prior(reference(PRIOR_FILE))
