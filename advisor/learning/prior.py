"""What is believed before any coupon: ``reference/prior_slopes.csv``, each row with its reason.

One set of beliefs cannot serve a machine that follows the handbooks and one that hardly answers its
dials. So the table also asks questions, each with a few weighted answers that change some of the
beliefs; every way of answering them is one *view*, and the coupons decide between the views.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache, cached_property
from pathlib import Path

import numpy as np
import pandas as pd

from advisor.errors import InputError
from advisor.learning.features import CURVES, FEATURES, Floats
from advisor.resources import reference

PRIOR_FILE = "prior_slopes.csv"
_INTERCEPT, _CURVATURE = "size_at_start", "curvature"
_NOISE = ("noise_sd", "noise_dof")
_DIAL = "dial"
_NAMES = (_INTERCEPT, *FEATURES, *_NOISE, _CURVATURE, _DIAL)
_CURVED = np.isin(FEATURES, CURVES)


@dataclass(frozen=True)
class Belief:
    """A number that is not known: mean and standard deviation, why, and who says so."""

    name: str
    mean: float
    sd: float
    reason: str
    source: str


@dataclass(frozen=True)
class Answer:
    """One answer to a question about the machine.

    Parameters
    ----------
    question, name : str
        The question and this answer, in a word each.
    weight : float
        How likely it is before any coupon, relative to the other answers of its question.
    beliefs : tuple of Belief
        What it changes; a mean or width that is nan stays as it was.
    """

    question: str
    name: str
    weight: float
    beliefs: tuple[Belief, ...]


@dataclass(frozen=True)
class Views:
    """Weighted sets of beliefs, ready for the regression.

    Parameters
    ----------
    weights : ndarray of shape (n_views,)
        How likely each is; they sum to 1.
    means, sds : ndarray of shape (n_views, 1 + n_features)
        Of the size at the start, then of each slope in the order of `FEATURES`.
    noise_sds : ndarray of shape (n_views,)
        Weld-to-weld scatter.
    noise_dof : float
        Degrees of freedom that the scatter is worth.
    dial_sds : ndarray of shape (n_views,)
        How far from the published current such a machine is dialled: standard deviation of the log
        of the ratio.
    """

    weights: Floats
    means: Floats
    sds: Floats
    noise_sds: Floats
    noise_dof: float
    dial_sds: Floats

    def seeing(self, currents: Floats) -> Views:
        """Return the views weighed by how far from the table the coupons were dialled.

        Parameters
        ----------
        currents : ndarray of shape (n_coupons,)
            Logs of the currents over the published ones. Their mean counts as one observation:
            who dials the first coupon near something dials the others near it too.
        """
        if not len(currents):
            return self
        away = currents.mean() / self.dial_sds
        weights = self.weights / self.dial_sds * np.exp(-0.5 * (away**2 - np.min(away**2)))
        return replace(self, weights=weights / weights.sum())


@dataclass(frozen=True)
class Prior:
    """The table of beliefs.

    Parameters
    ----------
    size_at_start : Belief
        Response at the published start, as `advisor.learning.features.response_of` gives it.
    slopes : tuple of Belief
        One an input, in the order of `FEATURES`: change of the response per unit of the input.
    noise_sd : float
        Weld-to-weld scatter of the response at one setting.
    noise_dof : float
        Degrees of freedom that `noise_sd` is worth.
    dial_sd : float
        How far from the published current a machine is dialled, as `Views.dial_sds`.
    answers : tuple of Answer
        Answers to the questions; without any there is one view, the beliefs above.
    """

    size_at_start: Belief
    slopes: tuple[Belief, ...]
    noise_sd: float
    noise_dof: float
    dial_sd: float
    answers: tuple[Answer, ...] = ()

    @property
    def slope_means(self) -> Floats:
        """Means of the slopes, in the order of `FEATURES`."""
        return np.array([belief.mean for belief in self.slopes])

    @property
    def slope_sds(self) -> Floats:
        """Standard deviations of the slopes, in the order of `FEATURES`."""
        return np.array([belief.sd for belief in self.slopes])

    @cached_property
    def views(self) -> Views:
        """Every way of answering the questions, as one set of beliefs each.

        A belief that one answer has changed is not changed again by an answer to a later question;
        answers that then come out as the same beliefs are one view.
        """
        merged: dict[tuple[Belief, ...], float] = {}
        for chosen in itertools.product(*self._questions()):
            changed = {b.name: b for answer in reversed(chosen) for b in answer.beliefs}
            key = tuple(changed[name] for name in sorted(changed))
            weight = math.prod(answer.weight for answer in chosen)
            merged[key] = merged.get(key, 0.0) + weight
        sets = [self._numbers({belief.name: belief for belief in key}) for key in merged]
        means, sds, noise_sds, dials = (np.array(part) for part in zip(*sets, strict=True))
        weights = np.array(list(merged.values()))
        return Views(weights / weights.sum(), means, sds, noise_sds, self.noise_dof, dials)

    def _questions(self) -> list[list[Answer]]:
        asked = dict.fromkeys(answer.question for answer in self.answers)
        return [[answer for answer in self.answers if answer.question == each] for each in asked]

    def _numbers(self, changed: Mapping[str, Belief]) -> tuple[Floats, Floats, float, float]:
        means = np.array([self.size_at_start.mean, *self.slope_means])
        sds = np.array([self.size_at_start.sd, *self.slope_sds])
        for column, name in enumerate((_INTERCEPT, *FEATURES)):
            if name in changed:
                means[column] = _unless_nan(changed[name].mean, means[column])
                sds[column] = _unless_nan(changed[name].sd, sds[column])
        if _CURVATURE in changed:
            for numbers in (means, sds):
                numbers[1:][_CURVED] *= changed[_CURVATURE].mean
        noise, dial = changed.get(_NOISE[0]), changed.get(_DIAL)
        return (
            means,
            sds,
            noise.mean if noise else self.noise_sd,
            dial.sd if dial else self.dial_sd,
        )


def _unless_nan(value: float, otherwise: float) -> float:
    return otherwise if math.isnan(value) else value


def read_prior(path: Path) -> Prior:
    """Read a table of beliefs.

    Parameters
    ----------
    path : Path
        CSV with the columns ``question, answer, weight, name, mean, sd, reason, source``; the first
        three are empty for the beliefs that hold unless an answer changes them.

    Returns
    -------
    Prior
        The beliefs.

    Raises
    ------
    InputError
        A row is missing or too many, a width is not positive, or an answer has no weight.
    """
    table = pd.read_csv(path, keep_default_na=False)
    for column in ("weight", "mean", "sd"):
        table[column] = pd.to_numeric(table[column].replace("", None))
    is_base = table["question"] == ""
    base, asked = table[is_base], table[~is_base]
    _check_names(path, list(base["name"]), list(asked["name"]))
    twice = asked[asked.duplicated(["question", "answer", "name"])]
    if len(twice):
        raise InputError(
            f"{path.name}: the answer {twice['answer'].iloc[0]!r} changes "
            f"{twice['name'].iloc[0]!r} twice; leave one"
        )
    beliefs = {belief.name: belief for belief in _beliefs(base)}
    noise_sd, noise_dof = (beliefs[name].mean for name in _NOISE)
    uncertain = tuple(beliefs[name] for name in FEATURES)
    answers = tuple(
        Answer(str(question), str(answer), float(part["weight"].iloc[0]), _beliefs(part))
        for (question, answer), part in asked.groupby(["question", "answer"], sort=False)
    )
    widths = [(belief.name, belief.sd) for belief in (beliefs[_INTERCEPT], *uncertain)]
    widths += [("noise_sd", noise_sd), ("noise_dof", noise_dof), (_DIAL, beliefs[_DIAL].sd)]
    widths += [(f"the answer {answer.name!r}", answer.weight) for answer in answers]
    widths += [
        (f"{belief.name} in the answer {answer.name!r}", width)
        for answer in answers
        for belief in answer.beliefs
        if not math.isnan(width := belief.mean if belief.name in _NOISE else belief.sd)
    ]
    for name, width in widths:
        if not width > 0:
            raise InputError(
                f"{path.name}: the width or weight of {name} is {width:g}; it must be above 0"
            )
    return Prior(beliefs[_INTERCEPT], uncertain, noise_sd, noise_dof, beliefs[_DIAL].sd, answers)


def _check_names(path: Path, base: list[str], asked: list[str]) -> None:
    if sorted(base) != sorted(_NAMES):
        differing = set(base).symmetric_difference(_NAMES)
        raise InputError(
            f"{path.name} must have one row for each of {', '.join(_NAMES)}; "
            f"missing, unknown or twice: {', '.join(sorted(differing)) or 'a name given twice'}"
        )
    unknown = sorted(set(asked) - set(_NAMES))
    if unknown:
        raise InputError(f"{path.name}: an answer changes {unknown[0]!r}, which is no belief")


def _beliefs(table: pd.DataFrame) -> tuple[Belief, ...]:
    return tuple(
        Belief(row["name"], float(row["mean"]), float(row["sd"]), row["reason"], row["source"])
        for row in table.to_dict("records")
    )


@cache
def load_prior() -> Prior:
    """Return the beliefs the tool is shipped with."""
    return read_prior(reference(PRIOR_FILE))
