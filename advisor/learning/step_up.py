"""The trade's way to find a setting without a model (common practice, no source).

Begin at the lower end of the published band, with the table's time and force, and weld a coupon.
Too small: one step up. Reached: weld the same again. Expulsion: one step back, and never up to that
current again. Done when the minimum was reached as often in a row as the shop asks. Where a whole
step would run into a current that threw metal out, half of what is left is taken.
"""

from __future__ import annotations

import math

from advisor.coupons.verdict import Outcome
from advisor.learning.invented_machine import InventedMachine
from advisor.weld.setting import Setting

#: One step; 0.3 to 0.5 kA is usual. Common practice, no source. [kA]
STEP_KA = 0.4


def step_up(shop: InventedMachine, most: int) -> Setting | None:
    """Find a setting by stepping up.

    Parameters
    ----------
    shop : InventedMachine
        The machine; its coupons are the ones welded.
    most : int
        Coupons after which to give up.

    Returns
    -------
    Setting or None
        The setting found; None after `most` coupons without one.
    """
    start, machine = shop.start, shop.machine
    weld_ms, force = machine.round_time(start.weld_ms), machine.round_force(start.force_kN)
    current, ceiling, run = start.row.current_kA.low, math.inf, 0
    while len(shop.coupons) < most:
        setting = Setting(machine.round_current(current), weld_ms, force)
        logged = shop.weld(setting)
        if logged.verdict.outcome is Outcome.PASS:
            run += 1
            if run == shop.rules.coverage.passes_in_a_row:
                return setting
            continue
        run = 0
        if logged.coupon.expulsion:
            ceiling, current = current, current - STEP_KA
        else:
            current += min(STEP_KA, (ceiling - current) / 2)
    return None
