"""Measure what a page waits for: ``python tests/benchmarks/readings.py``, milliseconds, best of 7.

A drift reading of 25 + 100 coupons, the true window of the practice bench, and a week's summary of
300 releases as PDF.
"""

import sys
import time
from dataclasses import replace
from pathlib import Path

TESTS = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(TESTS / room) for room in (".", "review", "learning", "record")]


def best_ms(act):
    taken = []
    for _ in range(7):
        began = time.perf_counter()
        act()
        taken.append(1000 * (time.perf_counter() - began))
    return min(taken)


def main():
    import test_bench_machine as bench
    import test_drift as drift
    import test_week_summary as week

    stable, later = drift.made(1), drift.made(2, 100, 26)
    machine = bench.machine_for("three", 1)
    many = tuple(replace(week.STANDING, job=f"RO {1000 + n}") for n in range(300))
    for name, act in (
        ("drift of 25 + 100 coupons", lambda: drift.read_drift(stable, later, drift.RULES)),
        ("true window of the bench", lambda: machine.true_window(2.5, bench.JUDGING)),
        ("300 releases as PDF", lambda: week.week_pdf(replace(week.EMPTY, releases=many))),
    ):
        print(f"{name}: {best_ms(act):.0f} ms")


if __name__ == "__main__":
    main()
