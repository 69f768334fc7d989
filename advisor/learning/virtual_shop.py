"""Does the advice find a sound setting, and is it right when it says so? A virtual shop answers.

``python -m advisor.learning.virtual_shop --machines 200 --seed 0 --json`` lets the advice and the
trade's step-up procedure each find a setting on the same invented machines, and compares coupons
used with the true chance of a sound weld. What the machines do is invented; see
`advisor.learning.invented_machine`.
"""

from __future__ import annotations

import argparse
import json
import math
import sys
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd

from advisor.coupons.rules import ShopRules
from advisor.coupons.verdict import weakest_size_mm
from advisor.learning.advice import Advice
from advisor.learning.invented_machine import SCENARIOS, STACKS, InventedMachine
from advisor.learning.model import MachineModel, as_frame
from advisor.learning.sound import as_row
from advisor.learning.step_up import STEP_KA, step_up
from advisor.weld.setting import Setting

#: Coupons after which either procedure gives up. Choice of this project.
MOST = 30
#: True chance below which a setting claimed to be sound was claimed wrongly. Choice of this
#: project: one weld in five would be bad.
WRONG = 0.8
#: Welds on each machine that the interval without coupons is tried on.
_TRIED = 10
_METHODS = ("advice", "step_up")


def follow_advice(shop: InventedMachine, most: int) -> Setting | None:
    """Weld what the advice says until it says stop.

    Parameters
    ----------
    shop : InventedMachine
        The machine; its coupons are the ones welded.
    most : int
        Coupons after which to give up.

    Returns
    -------
    Setting or None
        The setting claimed to be sound; None after `most` coupons without one.
    """
    rules = shop.rules
    while True:
        model = MachineModel(rules).fit(shop.coupons)
        advice = _advice(shop, model).next_coupon
        if advice.stop:
            return advice.setting
        if len(shop.coupons) >= most:
            return None
        shop.weld(advice.setting)


def _advice(shop: InventedMachine, model: MachineModel) -> Advice:
    return Advice(model, shop.stack, shop.machine, shop.electrode, shop.rules, shop.coupons)


_PROCEDURES: dict[str, Callable[[InventedMachine, int], Setting | None]] = {
    "advice": follow_advice,
    "step_up": step_up,
}


def invented_machine(index: int, seed: int, rules: ShopRules) -> InventedMachine:
    """Return one machine; scenarios and stacks take turns, so that each meets each.

    Parameters
    ----------
    index : int
        Number of the machine.
    seed : int
        Seed of the shop.
    rules : ShopRules
        The shop's rules.
    """
    stack = STACKS[(index + index // len(SCENARIOS)) % len(STACKS)]
    rng = np.random.default_rng([seed, index])
    return InventedMachine(SCENARIOS[index % len(SCENARIOS)], stack, rules, rng)


def compare(machines: int, seed: int) -> pd.DataFrame:
    """Let both procedures find a setting on every machine.

    Parameters
    ----------
    machines : int
        How many machines.
    seed : int
        Seed; the same one gives the same table.

    Returns
    -------
    DataFrame of shape (2 · machines, 5)
        ``scenario``, ``method``, ``coupons`` used, ``found`` (whether a setting was settled on) and
        ``true_chance`` of a sound weld there (nan without).
    """
    rules, rows = ShopRules(), []
    for index in range(machines):
        for method in _METHODS:
            shop = invented_machine(index, seed, rules)
            setting = _PROCEDURES[method](shop, MOST)
            rows.append(
                {
                    "scenario": shop.scenario.name,
                    "method": method,
                    "coupons": len(shop.coupons),
                    "found": setting is not None,
                    "true_chance": np.nan if setting is None else shop.true_chance(setting),
                }
            )
    return pd.DataFrame(rows)


def coverage_without_coupons(machines: int, seed: int) -> dict[str, float]:
    """Return how many first welds fall inside the 90 % interval that the table alone gives.

    Welds that threw metal out are left aside, as the interval is for those that did not; a weld
    without fusion is outside.

    Parameters
    ----------
    machines : int
        How many machines.
    seed : int
        Seed; the same one gives the same shares.

    Returns
    -------
    dict of str to float
        Shares: ``at_the_suggestion``, where the first coupon is welded; ``over_the_band``, with
        currents drawn evenly from the published band and the table's time and force.
    """
    rules = ShopRules()
    model = MachineModel(rules)
    inside: dict[str, list[bool]] = {"at_the_suggestion": [], "over_the_band": []}
    for index in range(machines):
        shop = invented_machine(index, seed, rules)
        first = _advice(shop, model).next_coupon.setting
        band = shop.start.row.current_kA
        for _ in range(_TRIED):
            any_current = replace(first, current_kA=shop.rng.uniform(band.low, band.high))
            for place, setting in (("at_the_suggestion", first), ("over_the_band", any_current)):
                inside[place] += _is_inside(shop, model, setting)
    return {place: float(np.mean(found)) for place, found in inside.items()}


def _is_inside(shop: InventedMachine, model: MachineModel, setting: Setting) -> list[bool]:
    """Weld once and compare with the interval; nothing where metal was thrown out."""
    coupon = shop.weld(setting).coupon
    if coupon.expulsion:
        return []
    found = model.predict(shop.stack, shop.electrode, as_frame(as_row(setting))).iloc[0]
    size = weakest_size_mm(coupon, shop.rules.judging)
    return [size is not None and bool(found["low_mm"] <= size <= found["high_mm"])]


def report(machines: int, seed: int) -> dict[str, Any]:
    """Return what was asked of the virtual shop, ready for JSON.

    Parameters
    ----------
    machines : int
        How many machines.
    seed : int
        Seed; the same one gives the same report.

    Returns
    -------
    dict
        ``overall`` and ``by_scenario`` hold the figures of each procedure, as `figures` names them.
    """
    table = compare(machines, seed)
    return {
        "machines": machines,
        "seed": seed,
        "step_kA": STEP_KA,
        "most_coupons": MOST,
        "overall": _by_method(table),
        "by_scenario": {str(name): _by_method(part) for name, part in table.groupby("scenario")},
        "coverage_90_without_coupons": coverage_without_coupons(machines, seed),
    }


def _by_method(table: pd.DataFrame) -> dict[str, dict[str, float | None]]:
    return {str(method): figures(part) for method, part in table.groupby("method")}


def figures(table: pd.DataFrame) -> dict[str, float | None]:
    """Return the figures of one procedure.

    Parameters
    ----------
    table : DataFrame of shape (n_machines, 5)
        Rows of `compare`.

    Returns
    -------
    dict of str to float or None
        Coupons used, as median and quantiles; share of machines without a setting after `MOST`
        coupons; true chance of a sound weld at the settings found, as mean and 10 % quantile, and
        the share of them below `WRONG`. The advice claims 95 % at each setting it stops at, so for
        it that share is the share of wrong claims. None where nothing was found.
    """
    coupons, chances = table["coupons"], table["true_chance"].dropna()
    found: dict[str, float | None] = {
        "machines": len(table),
        "coupons_median": float(coupons.median()),
        "coupons_mean": round(float(coupons.mean()), 2),
        "coupons_q10": float(coupons.quantile(0.1)),
        "coupons_q90": float(coupons.quantile(0.9)),
        "without_setting": round(1 - float(table["found"].mean()), 3),
    }
    return found | {
        "true_chance_mean": _rounded(float(chances.mean())),
        "true_chance_q10": _rounded(float(chances.quantile(0.1))),
        "true_chance_below_80": _rounded(float(chances.lt(WRONG).mean())),
    }


def _rounded(share: float) -> float | None:
    return None if math.isnan(share) else round(share, 3)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the virtual shop from the command line.

    Parameters
    ----------
    arguments : sequence of str, optional
        Command-line arguments without the program's name.

    Returns
    -------
    int
        Exit status.
    """
    parser = argparse.ArgumentParser(
        prog="python -m advisor.learning.virtual_shop",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--machines", type=int, default=200, help="invented machines (200)")
    parser.add_argument("--seed", type=int, default=0, help="same seed, same figures (0)")
    parser.add_argument("--json", action="store_true", help="print JSON instead of a table")
    chosen = parser.parse_args(arguments)
    if chosen.machines < 1:
        parser.error(f"--machines is {chosen.machines}; it must be 1 or more")
    found = report(chosen.machines, chosen.seed)
    print(json.dumps(found, indent=2) if chosen.json else _as_text(found))
    return 0


def _as_text(found: dict[str, Any]) -> str:
    lines = [f"{'':34}{'coupons':>22}{'true chance of sound':>24}"]
    lines += [f"{'':34}{'median':>8}{'10-90 %':>14}{'mean':>12}{'< 80 %':>12}"]
    parts = {"all": found["overall"]} | found["by_scenario"]
    for name, methods in parts.items():
        for method, row in methods.items():
            spread = f"{row['coupons_q10']:.0f}-{row['coupons_q90']:.0f}"
            mean, below = (
                "-" if row[key] is None else f"{row[key]:.3f}"
                for key in ("true_chance_mean", "true_chance_below_80")
            )
            lines.append(
                f"{name:24}{method:10}{row['coupons_median']:8.1f}{spread:>14}{mean:>12}{below:>12}"
            )
    for place, share in found["coverage_90_without_coupons"].items():
        lines.append(f"90 % interval without coupons, {place.replace('_', ' ')}: {share:.3f}")
    return "\n".join(lines)


if __name__ == "__main__":
    sys.exit(main())
