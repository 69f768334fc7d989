"""A big log: import against a plain bulk insert, and every page against the same page at 1,000.

Of the lead's page every view is run, and what the server's memory grows by when it goes from the
small log to the big one.

Run with ``python tests/benchmarks/million.py [COUPONS [sqlite|postgresql]]``. One shop with twelve
welders, eight machines and forty stacks over ten years; the small log is its newest thousand.
"""

import os
import random
import statistics
import sys
import tempfile
import time
from contextlib import ExitStack
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parent), str(HERE.parent / "store")]

WHO = [f"Welder {n:02}" for n in range(12)]
GUNS = [f"gun {n}" for n in range(8)]
TABLES = ("coupon", "coupon_revision", "interface_result", "tally")
VIEWS = ("now", "rates", "drift", "failures", "evidence", "week")
PAGES = (
    *("before", "coupon", "setting", "layout", "class", "shop", "files"),
    *(f"review {view}" for view in VIEWS),
)


def stacks():
    from advisor.weld.sheet import Sheet
    from advisor.weld.stack import AdhesiveState, Bond, Stack

    thicknesses = [(0.6 + 0.1 * n, 0.8 + 0.1 * (n % 7)) for n in range(10)]
    bonds = (Bond(), *(Bond("Epoxy", state) for state in list(AdhesiveState)[1:]))
    return [
        Stack((Sheet(round(a, 1)), Sheet(round(b, 1))), (bond,))
        for a, b in thicknesses
        for bond in bonds[:4]
    ]


def coupons(number, now):
    """Make coupons, the newest first half a day old, spread evenly over ten years."""
    from store_examples import PASSING

    from advisor.coupons.coupon import InterfaceResult
    from advisor.weld.failure import FailureType

    pick, laid = random.Random(1), stacks()  # noqa: S311
    step = timedelta(days=3650) / 1_000_000
    for n in range(number, 0, -1):
        size = round(pick.gauss(4.9, 0.5), 2)
        result = InterfaceResult(size, round(size + 0.3, 2), FailureType.BUTTON)
        setting = replace(PASSING.setting, current_kA=round(pick.uniform(7, 11), 1))
        yield replace(
            PASSING,
            made_at=now - step * n,
            welder=pick.choice(WHO),
            machine=pick.choice(GUNS),
            stack=pick.choice(laid),
            setting=setting,
            results=(result,),
            expulsion=pick.random() < 0.1,
        )


def fill(url, number, now):
    """Fill a log; return how long the import alone took. [s]"""
    from advisor.bonding.adhesive import Adhesive, Span
    from advisor.coupons.joint import Joint
    from advisor.store.log import open_log
    from advisor.weld.electrode import CapShape, Electrode
    from advisor.weld.machine import Machine

    log = open_log(url)
    for name in WHO:
        log.add_welder(name, WHO[0])
    for name in GUNS:
        log.save_machine(Machine(name, 14, 6, 50, True), WHO[0])
        log.fit_caps(name, Electrode(CapShape.DOME, 6), now - timedelta(days=3660), WHO[0])
    log.save_adhesive(Adhesive("Epoxy", Span(40, 50), Span(90, 120), Span(1440, 1440)), WHO[0])
    made = list(coupons(number, now))
    start = time.perf_counter()
    log.import_coupons(made, WHO[0], now)
    taken = time.perf_counter() - start
    for n, stack in enumerate(stacks()[:6]):
        log.save_joint(Joint(f"joint {n}", "RO 1", stack, GUNS[n]), WHO[0])
    log.close()
    return taken


def settle(urls):
    """Let the server know its tables, which one in use does by itself within a minute."""
    from sqlalchemy import text

    from advisor.store.log import open_log

    for name in ("big", "small"):
        log = open_log(urls[name])
        with log._writer.begin() as connection:
            connection.execute(text("ANALYZE"))
        log.close()


def plain_insert(full, empty):
    """Insert the rows of a log into an empty one in bulk; return how long that took. [s]"""
    from sqlalchemy import insert, select

    from advisor.store.log import open_log
    from advisor.store.schema import access, machine, metadata, rules, stack, welder

    source, target = open_log(full), open_log(empty)
    taken = 0.0
    with source._engine.connect() as reader, target._writer.begin() as writer:
        for table in (welder, access, machine, stack, rules):
            rows = [dict(row) for row in reader.execute(select(table)).mappings()]
            writer.execute(insert(table), rows)
        for name in TABLES:
            table = metadata.tables[name]
            for some in reader.execute(select(table)).mappings().partitions(5000):
                rows = [dict(row) for row in some]
                start = time.perf_counter()
                writer.execute(insert(table), rows)
                taken += time.perf_counter() - start
    for log in (source, target):
        log.close()
    return taken


def rerun_ms(page):
    """Rerun a page as its user would by touching a control that changes nothing. [ms]"""
    from streamlit.testing.v1 import AppTest

    page, _, view = page.partition(" ")
    script = f"from advisor.pages.shell import run\nrun({page!r})"
    app = AppTest.from_string(script, default_timeout=120)
    if view:
        app.session_state["view"] = view
        app.session_state["what"] = "all"
    app.query_params["who"] = WHO[0]
    for _ in range(3):
        app.run()
    taken = []
    for _ in range(15):
        start = time.perf_counter()
        app.run()
        taken.append(1000 * (time.perf_counter() - start))
    assert not app.exception, app.exception
    return statistics.median(taken)


def pages(urls):
    """Measure each page on both logs in turn, so that other work on the machine hits both."""
    import streamlit as st

    print(f"{'page':18}{'1,000 [ms]':>12}{'big [ms]':>10}{'ratio':>8}")
    for page in PAGES:
        found = {}
        for name, url in urls.items():
            os.environ["ADVISOR_DATABASE_URL"] = url
            st.cache_data.clear()
            found[name] = rerun_ms(page)
        ratio = found["big"] / found["small"]
        print(f"{page:18}{found['small']:12.1f}{found['big']:10.1f}{ratio:8.2f}", flush=True)


def memory_mb():
    """Return the memory that this process holds. [MB]"""
    pages_held = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages_held * os.sysconf("SC_PAGE_SIZE") / 1e6


def memory(urls):
    """Print what the lead's page adds to a server that has shown it on the small log."""
    held = {}
    for name in ("small", "big"):
        os.environ["ADVISOR_DATABASE_URL"] = urls[name]
        for view in VIEWS:
            rerun_ms(f"review {view}")
        held[name] = memory_mb()
    grown = held["big"] - held["small"]
    print(
        f"review: {held['small']:.0f} MB after 1,000, {grown:+.1f} MB after the big log", flush=True
    )


def urls_of(kind, folder, server, stack):
    names = ("big", "small", "plain")
    if kind == "sqlite":
        return {name: f"sqlite:///{folder}/{name}.sqlite" for name in names}
    return {name: server.url(stack.enter_context(server.database())) for name in names}


def measure(kind, number):
    import postgres_server

    now = datetime.now(UTC) - timedelta(hours=12)
    with ExitStack() as stack:
        folder = stack.enter_context(tempfile.TemporaryDirectory())
        server = None
        if kind == "postgresql":
            server = stack.enter_context(postgres_server.running())
        os.environ["ADVISOR_DATA_DIR"] = folder
        urls = urls_of(kind, folder, server, stack)
        mine = fill(urls["big"], number, now)
        plain = plain_insert(urls["big"], urls["plain"])
        print(f"{kind}: import of {number:,} coupons {mine:.1f} s, plain {plain:.1f} s, ", end="")
        print(f"ratio {mine / plain:.2f}", flush=True)
        fill(urls["small"], 1000, now)
        if server:  # its autovacuum is off here
            settle(urls)
        memory(urls)
        pages({name: urls[name] for name in ("small", "big")})


if __name__ == "__main__":
    wanted = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    for each in sys.argv[2:] or ("sqlite", "postgresql"):
        measure(each, wanted)
