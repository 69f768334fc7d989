"""Invented measurements as CSV, in any of the units the evaluation reads."""

import math

import numpy as np
from learning_makers import RULES

from advisor.weld.published import published_start
from advisor.weld.sheet import Sheet
from advisor.weld.stack import Stack

#: Column of each quantity in the unit inside, and how many of another unit one of it is. The
#: factors are exact by definition: 25.4 mm an inch, 0.45359237 × 9.80665 N a pound-force.
UNITS = {
    "thickness1": {"mm": 1, "in": 1 / 25.4},
    "thickness2": {"mm": 1, "in": 1 / 25.4},
    "current": {"kA": 1, "A": 1000},
    "weld_time": {"ms": 1, "s": 1 / 1000, "cycles50": 0.05, "cycles60": 0.06},
    "force": {"kN": 1, "N": 1000, "daN": 100, "lbf": 1000 / (0.45359237 * 9.80665)},
    "diameter": {"mm": 1, "in": 1 / 25.4},
    "face": {"mm": 1, "in": 1 / 25.4},
}


def measurements(count=24, seed=1, scatter=0.05):
    """Return rows of an invented machine that follows the handbooks, in the units inside."""
    rng, rows = np.random.default_rng(seed), []
    for _ in range(count):
        thin = round(rng.uniform(0.7, 1.5), 2)
        thick = round(thin * rng.uniform(1, 1.5), 2)
        start = published_start(Stack((Sheet(thin), Sheet(thick))), RULES.bare_schedule)
        row = {
            "thickness1": thin,
            "thickness2": thick,
            "current": round(start.current_kA * rng.uniform(0.85, 1.1), 2),
            "weld_time": 20.0 * round(start.weld_ms * rng.uniform(0.8, 1.2) / 20),
            "force": round(start.force_kN * rng.uniform(0.9, 1.1), 2),
            "face": start.face_mm,
        }
        heat = (row["current"] / start.current_kA) ** 0.8
        heat *= (row["weld_time"] / start.weld_ms) ** 0.25 * (row["force"] / start.force_kN) ** -0.2
        size = 5 * math.sqrt(thin) * heat * math.exp(rng.normal(0, scatter))
        rows.append(row | {"diameter": round(size, 2)})
    return rows


def as_csv(rows, units=None, **more):
    """Return rows as the bytes of a file; `units` where not the one inside, `more` as columns."""
    units = units or {}
    columns = {target: units.get(target, next(iter(UNITS[target]))) for target in rows[0]}
    header = [f"{target}_{unit}" for target, unit in columns.items()] + list(more)
    lines = [",".join(header)]
    for number, row in enumerate(rows):
        cells = [repr(row[target] * UNITS[target][unit]) for target, unit in columns.items()]
        lines.append(",".join([*cells, *(str(texts[number]) for texts in more.values())]))
    return "\n".join(lines).encode()
