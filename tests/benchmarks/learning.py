"""Measure learning and advice; run with ``python tests/benchmarks/learning.py``.

Ratios come from one run, so that a slow or busy machine does not matter: fitting and one suggestion
against one BayesianRidge on the same rows; the window against one BayesianRidge.predict of as many
rows; fitting against the number of coupons. With ``--profile`` also where the time goes. Every
coupon is invented.
"""

import cProfile
import pstats
import statistics
import sys
import time
from dataclasses import replace

import numpy as np
from sklearn.linear_model import BayesianRidge
from threadpoolctl import threadpool_limits

from advisor.coupons.rules import ShopRules
from advisor.learning.advice import Advice
from advisor.learning.features import coupon_rows, inputs
from advisor.learning.model import MachineModel
from advisor.learning.virtual_shop import invented_machine
from advisor.weld.setting import Setting

COUPONS, POINTS = 500, 100
RUNS, LEAST_S = 9, 0.02
SIZES = (1_000, 10_000, 100_000)
#: Targets that the project has set itself.
MOST_ADVICE, MOST_WINDOW = 5, 10
#: Lowest current over the published start where some welds leave no button.
COLD = 0.6
RULES = ShopRules()


def taken_ms(work):
    """Return the median time of some runs, each long enough to be measured. [ms]"""
    start = time.perf_counter()
    work()
    repeats = max(1, round(LEAST_S / (time.perf_counter() - start)))
    taken = []
    for _ in range(RUNS):
        start = time.perf_counter()
        for _ in range(repeats):
            work()
        taken.append((time.perf_counter() - start) / repeats)
    return 1000 * statistics.median(taken)


def shop_with(count, low=0.85, high=1.15):
    """Return an invented machine after `count` coupons with currents over the published start."""
    shop, rng = invented_machine(0, 0, RULES), np.random.default_rng(0)
    start, machine = shop.start, shop.machine
    for _ in range(count):
        current = machine.round_current(start.current_kA * rng.uniform(low, high))
        weld_ms = machine.round_time(start.weld_ms * rng.uniform(0.9, 1.1))
        shop.weld(Setting(current, weld_ms, machine.round_force(start.force_kN)))
    return shop


def advice_of(shop, coupons, model=None):
    model = model or MachineModel(RULES).fit(coupons)
    return Advice(model, shop.stack, shop.machine, shop.electrode, RULES, coupons)


def show(what, ms, reference_ms=None, most=None):
    ratio = "" if reference_ms is None else f"{ms / reference_ms:10.1f}"
    print(f"{what:58}{ms:10.2f}{ratio:>10}{'' if most is None else f'{most:10}'}")


def advice_against_bayesian_ridge(shop):
    coupons, rows = shop.coupons, coupon_rows(shop.coupons, RULES)
    model = MachineModel(RULES).fit(coupons)
    print(f"{len(coupons)} coupons, {rows.is_below.sum()} rows without a button")
    ridge = taken_ms(lambda: BayesianRidge().fit(rows.inputs, rows.response))
    show("BayesianRidge.fit on the same rows", ridge, ridge)
    show("rows from coupons", taken_ms(lambda: coupon_rows(coupons, RULES)), ridge)
    show("fit", taken_ms(lambda: MachineModel(RULES).fit(coupons)), ridge)
    show("suggestion", taken_ms(lambda: advice_of(shop, coupons, model).suggestion), ridge)
    both = taken_ms(lambda: advice_of(shop, coupons).suggestion)
    show("fit and suggestion", both, ridge, MOST_ADVICE)
    show("next coupon", taken_ms(lambda: advice_of(shop, coupons, model).next_coupon), ridge)


def window_against_predict(shop):
    rows = coupon_rows(shop.coupons, RULES)
    ridge = BayesianRidge().fit(rows.inputs, rows.response)
    advice = advice_of(shop, shop.coupons)
    grid = advice.window_over_time(POINTS)
    force = np.full(len(grid), advice.suggestion.setting.force_kN)
    settings = np.column_stack([grid["current_kA"], grid["weld_ms"], force])
    asked = inputs(shop.stack, shop.electrode, settings, RULES)[0]
    plain = taken_ms(lambda: ridge.predict(asked))
    spread = taken_ms(lambda: ridge.predict(asked, return_std=True))
    window = taken_ms(lambda: advice.window_over_time(POINTS))
    print(f"window of {POINTS} x {POINTS}")
    show("BayesianRidge.predict of as many rows", plain)
    show("window, against that", window, plain, MOST_WINDOW)
    show("BayesianRidge.predict with return_std", spread)
    show("window, against that", window, spread, MOST_WINDOW)


def fits(shop):
    print("fit, against the smallest number of coupons at the same time each")
    first, made = None, shop.coupons
    for size in SIZES:
        coupons = [replace(made[n % len(made)], number=n) for n in range(size)]
        taken = []
        for _ in range(3):
            start = time.perf_counter()
            MachineModel(RULES).fit(coupons)
            taken.append(1000 * (time.perf_counter() - start))
        first = first or min(taken) / size
        below = coupon_rows(coupons, RULES).is_below.sum()
        show(f"{size:,} coupons ({below:,} rows without a button)", min(taken), first * size)


def profile(what, work, runs=20):
    with cProfile.Profile() as profiler:
        for _ in range(runs):
            work()
    print(f"\n{what}, {runs} runs: inside each function, then with all it calls")
    found = pstats.Stats(profiler).strip_dirs()
    found.sort_stats("tottime").print_stats(12)
    found.sort_stats("cumtime").print_stats(25)


def main():
    shop = shop_with(COUPONS)
    print(f"{'':58}{'[ms]':>10}{'times':>10}{'target':>10}")
    advice_against_bayesian_ridge(shop)
    cold = shop_with(COUPONS, COLD)
    advice_against_bayesian_ridge(cold)
    window_against_predict(shop)
    fits(shop)
    fits(cold)
    if "--profile" in sys.argv:
        advice = advice_of(shop, shop.coupons)
        profile("fit and suggestion", lambda: advice_of(shop, shop.coupons).suggestion)
        profile("fit with rows without a button", lambda: MachineModel(RULES).fit(cold.coupons))
        profile("window", lambda: advice.window_over_time(POINTS))


if __name__ == "__main__":
    # Matrices this small are not worth a second thread, and threads make a busy machine erratic.
    with threadpool_limits(1):
        main()
