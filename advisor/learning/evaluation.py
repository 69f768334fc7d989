"""Measure the model on coupons it has not seen: its error, and what its intervals hold.

Trains on a few coupons of a file, predicts the rest, many times over, and prints for each number of
training coupons the held-out error and the coverage of the 50 % and 90 % intervals, beside three
generic models: the mean of the training coupons, scikit-learn's BayesianRidge and its Gaussian
process (RBF plus white noise), both on standardised logs.

columns: one row a weld of two sheets, names with the unit at the end, capitals do not matter:
  thickness1_mm|in    thickness of a sheet (needed)
  thickness2_mm|in    of the other one; absent: the same
  current_kA|A        weld current (needed)
  weld_time_ms|s|cycles50|cycles60
                      weld time, cycles of 50 or 60 Hz mains; absent: as published
  force_kN|N|daN|lbf  electrode force; absent: as published for the stack
  pressure_bar|psi|kPa|MPa, also force_psi and the like
                      where the force is known only as an air pressure. Without the machine's
                      calibration its constant factor is unknown, so the pressures are scaled until
                      their geometric mean is that of the published forces (no diameter is used)
  diameter_mm|in      measured size of the weld (needed)
  face_mm|in          electrode face; absent: as published for the stack
  surface             bare, ground bare, hot-dip zinc, electrolytic zinc, galvannealed; absent: bare
  expulsion           yes or no; read, but not used: see below
A file with other names is read with --map, --constant, --lost and --yes-words. Rows without a
diameter, with a lost reading or outside the scope (two steel sheets of 0.4 to 3.0 mm, at most 3:1)
are dropped and counted.

Whether a held-out weld throws metal out is not known beforehand, so expulsion is no input here,
neither in training nor in prediction: what is predicted is the size of the next weld, expelled or
not. A size of training is left out when fewer than 5 welds would be held out.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from advisor.coupons.coupon import Coupon
from advisor.coupons.importing import read_table
from advisor.coupons.joint import LoggedCoupon
from advisor.coupons.rules import ShopRules
from advisor.coupons.verdict import judge
from advisor.errors import AdvisorError
from advisor.learning.features import Floats, Rows, coupon_rows, root_governing, size_over_root
from advisor.learning.generic import GENERIC, LEVELS, Predicted
from advisor.learning.measured import (
    Measured,
    constant,
    mapped_column,
    named_columns,
    read_measured,
)
from advisor.learning.mixture import with_intercept
from advisor.learning.model import mixture_from
from advisor.learning.prior import Prior, load_prior

#: Fewest welds to hold out. Choice of this project: fewer would measure luck.
LEAST_HELD_OUT = 5
OURS = "ours"
Which = NDArray[np.int64]


class Trial:
    """Coupons of one machine, ready to be split into training and held-out ones.

    Parameters
    ----------
    measured : Measured
        Coupons with one measured diameter each.
    rules : ShopRules
        The shop's rules.
    prior : Prior
        Beliefs before any coupon.
    """

    def __init__(self, measured: Measured, rules: ShopRules, prior: Prior) -> None:
        self.prior = prior
        coupons = measured.coupons
        logged = [_logged(number, coupon, rules) for number, coupon in enumerate(coupons)]
        self.rows = coupon_rows(logged, rules)
        self.root = np.array([root_governing(coupon.stack, rules)[0] for coupon in coupons])
        self.size_mm = self.root * size_over_root(self.rows.response)
        self.generic_inputs = _generic_inputs(measured)

    def predict(self, name: str, train: Which, held_out: Which) -> Predicted:
        """Predict held-out welds by one model.

        Parameters
        ----------
        name : str
            ``ours`` or one of `GENERIC`.
        train, held_out : ndarray of int
            Which coupons to learn from and which to predict.
        """
        if name != OURS:
            inputs = self.generic_inputs
            return GENERIC[name](inputs[train], self.size_mm[train], inputs[held_out])
        mixture = mixture_from(self.prior.views, _some(self.rows, train))
        shares = [
            0.5,
            *((1 - level) / 2 for level in LEVELS),
            *((1 + level) / 2 for level in LEVELS),
        ]
        new = with_intercept(self.rows.inputs[held_out])
        found = self.root[held_out] * size_over_root(mixture.quantiles(new, tuple(shares)))
        return Predicted(found[0], found[1 : 1 + len(LEVELS)], found[1 + len(LEVELS) :])


def _logged(number: int, coupon: Coupon, rules: ShopRules) -> LoggedCoupon:
    blind = replace(coupon, expulsion=False)
    return LoggedCoupon(number, blind, judge(blind, rules.judging))


def _generic_inputs(measured: Measured) -> Floats:
    """Return the logs of what the file gives and of what varies in it; nothing published."""
    given = {"force"} & {"force" if each == "pressure" else each for each in measured.given}
    given |= measured.given & {"weld_time", "face"}
    rows = []
    for coupon in measured.coupons:
        setting, sheets = coupon.setting, sorted(coupon.stack.thicknesses_mm)
        dials = {
            "weld_time": setting.weld_ms,
            "force": setting.force_kN,
            "face": coupon.electrode.face_mm,
        }
        kept = [value for name, value in dials.items() if name in given]
        rows.append(np.log([setting.current_kA, *kept, *sheets]))
    inputs = np.array(rows)
    return np.asarray(inputs[:, np.ptp(inputs, axis=0) > 0])


def _some(rows: Rows, which: Which) -> Rows:
    numbers = tuple(np.array(rows.numbers)[which].tolist())
    return replace(
        rows,
        inputs=rows.inputs[which],
        response=rows.response[which],
        is_below=rows.is_below[which],
        numbers=numbers,
    )


def splits(count: int, train: int, repeats: int, seed: int) -> Iterator[tuple[Which, Which]]:
    """Yield training and held-out coupons of each repeat.

    Parameters
    ----------
    count, train : int
        How many coupons there are and how many to train on.
    repeats, seed : int
        How often; the same seed gives the same splits, whatever the other sizes.
    """
    for repeat in range(repeats):
        order = np.random.default_rng([seed, train, repeat]).permutation(count)
        yield order[:train], order[train:]


def measure(trial: Trial, train: int, repeats: int, seed: int) -> dict[str, dict[str, float]]:
    """Measure every model at one number of training coupons.

    Parameters
    ----------
    trial : Trial
        The coupons.
    train, repeats, seed : int
        As in `splits`.

    Returns
    -------
    dict of str to dict
        For each model ``rmse_mm``, the median over the repeats, and ``coverage_50`` and
        ``coverage_90``, the shares of held-out welds inside their intervals. [mm]
    """
    figures: dict[str, dict[str, float]] = {}
    for name in (OURS, *GENERIC):
        errors, inside = [], []
        for taught, held_out in splits(len(trial.size_mm), train, repeats, seed):
            found, truth = trial.predict(name, taught, held_out), trial.size_mm[held_out]
            errors.append(np.sqrt(np.mean((found.size_mm - truth) ** 2)))
            inside.append(np.mean((found.low_mm <= truth) & (truth <= found.high_mm), axis=1))
        figures[name] = {"rmse_mm": round(float(np.median(errors)), 4)}
        for level, share in zip(LEVELS, np.mean(inside, axis=0), strict=True):
            figures[name][f"coverage_{100 * level:.0f}"] = round(float(share), 4)
    return figures


def evaluate(
    measured: Measured,
    train_sizes: Sequence[int],
    repeats: int,
    seed: int,
    prior: Prior | None = None,
) -> dict[str, Any]:
    """Measure every model at every number of training coupons the file is large enough for.

    Parameters
    ----------
    measured : Measured
        The coupons.
    train_sizes : sequence of int
        Numbers of training coupons.
    repeats, seed : int
        As in `splits`.
    prior : Prior or None
        Beliefs before any coupon; None for those the tool is shipped with.

    Returns
    -------
    dict
        Ready for JSON: ``coupons``, ``dropped``, ``notes``, ``sizes`` and ``sizes_left_out``.
    """
    count = len(measured.coupons)
    fitting = [size for size in train_sizes if count - size >= LEAST_HELD_OUT]
    sizes = []
    if fitting:
        trial = Trial(measured, ShopRules(), prior or load_prior())
        sizes = [_measured_at(trial, size, repeats, seed) for size in fitting]
    return {
        "coupons": count,
        "dropped": dict(measured.dropped),
        "notes": list(measured.notes),
        "seed": seed,
        "sizes": sizes,
        "sizes_left_out": [size for size in train_sizes if size not in fitting],
    }


def _measured_at(trial: Trial, size: int, repeats: int, seed: int) -> dict[str, Any]:
    models = measure(trial, size, repeats, seed)
    best = min(models[name]["rmse_mm"] for name in GENERIC)
    return {
        "train_size": size,
        "n_splits": repeats,
        "held_out": len(trial.size_mm) - size,
        "models": models,
        "rmse_over_best_generic": round(models[OURS]["rmse_mm"] / best, 4),
    }


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the evaluation from the command line.

    Parameters
    ----------
    arguments : sequence of str, optional
        Command-line arguments without the program's name.

    Returns
    -------
    int
        Exit status: 2 when the file cannot be used.
    """
    parser = _parser()
    chosen = parser.parse_args(arguments)
    try:
        table = read_table(chosen.file.read_bytes())
        columns = named_columns(table.header)
        columns |= dict(mapped_column(text) for text in chosen.map)
        columns |= dict(constant(text) for text in chosen.constant)
        measured = read_measured(
            table, columns, ShopRules(), frozenset(chosen.lost), frozenset(chosen.yes_words)
        )
    except (AdvisorError, OSError) as error:
        parser.error(str(error))
    found = evaluate(measured, chosen.train_sizes, chosen.repeats, chosen.seed)
    print(json.dumps(found, indent=2) if chosen.json else _as_text(found))
    return 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m advisor.learning.evaluation",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    add = parser.add_argument
    add("file", type=Path, metavar="FILE.csv", help="coupons, see columns above")
    add("--train-sizes", type=_sizes, default=_sizes("3,6,10,20,40,100"), metavar="N,N,...")
    add("--repeats", type=_positive, default=60, help="random splits for each size (60)")
    add("--seed", type=int, default=0, help="same seed, same splits (0)")
    add("--json", action="store_true", help="print JSON instead of a table")
    add(
        "--map",
        action="append",
        default=[],
        metavar="TARGET=COLUMN[:UNIT]",
        help="where a quantity stands, for example 'current=Current (A):A'; targets are the names "
        "above without their unit; may be given again",
    )
    add(
        "--constant",
        action="append",
        default=[],
        metavar="TARGET=VALUE[:UNIT]",
        help="the same for every row, for example surface=galvannealed; may be given again",
    )
    add("--lost", nargs="+", default=[], metavar="TEXT", help="marks a lost reading: --lost=-99")
    add("--yes-words", nargs="+", default=[], metavar="WORD", help="words that mean expulsion")
    return parser


def _positive(text: str) -> int:
    number = int(text)
    if number < 1:
        raise argparse.ArgumentTypeError(f"{text} is not 1 or more")
    return number


def _sizes(text: str) -> list[int]:
    sizes = [int(part) for part in text.split(",")]
    if min(sizes) < 2:
        raise argparse.ArgumentTypeError(f"{text}: a spread needs 2 training coupons or more")
    return sizes


def _as_text(found: dict[str, Any]) -> str:
    dropped = ", ".join(f"{count} {reason}" for reason, count in found["dropped"].items())
    lines = [f"{found['coupons']} coupons used; rows dropped: {dropped or 'none'}", *found["notes"]]
    header = (
        f"{'train':>6} {'splits':>6}  {'model':18}{'RMSE [mm]':>10}{'in 50 %':>9}{'in 90 %':>9}"
    )
    lines.append(header)
    for entry in found["sizes"]:
        start = f"{entry['train_size']:6} {entry['n_splits']:6}"
        for name, row in entry["models"].items():
            figures = f"{row['rmse_mm']:10.3f}{row['coverage_50']:9.3f}{row['coverage_90']:9.3f}"
            lines.append(f"{start}  {name:18}{figures}")
    if found["sizes_left_out"]:
        sizes = ", ".join(map(str, found["sizes_left_out"]))
        lines.append(f"left out, fewer than {LEAST_HELD_OUT} welds would be held out: {sizes}")
    return "\n".join(lines)


if __name__ == "__main__":
    sys.exit(main())
