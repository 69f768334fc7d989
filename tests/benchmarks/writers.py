"""Many writers at once against a plain driver; run with ``python tests/benchmarks/writers.py``.

Ours judges, seals, counts and checks who may; the plain program inserts the same rows into the same
tables, one coupon a transaction, and does nothing else. Both write with full durability, in one
run, as processes of their own that start together.
"""

import multiprocessing as mp
import queue
import sqlite3
import statistics
import sys
import tempfile
import threading
import time
from copy import deepcopy
from datetime import date, datetime
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parent), str(HERE.parent / "store")]

PART = ("coupon", "coupon_revision", "interface_result")


def ours(url, shop, number, ready, done, log=None):
    from store_examples import NOW, PASSING

    from advisor.store.log import open_log

    log = log or open_log(url, shop)
    log.recent_coupons(1)
    waits = []
    ready.wait()
    for _ in range(number):
        start = time.perf_counter()
        log.add_coupon(PASSING, "Kim", NOW)
        waits.append(time.perf_counter() - start)
    done.put((1000 * statistics.median(waits), 1000 * max(waits)))


def rows_of(url, shop):
    """Return the rows of one coupon as they were written: columns and values of each table."""
    from sqlalchemy import select
    from store_examples import NOW, PASSING

    from advisor.store.log import open_log
    from advisor.store.schema import coupon, coupon_revision, interface_result

    log = open_log(url, shop)
    log.add_coupon(PASSING, "Kim", NOW)
    found = {}
    with log._reading() as connection:
        for table in (coupon, coupon_revision, interface_result):
            key = "coupon_revision_id" if table is interface_result else "id"
            row = connection.execute(select(table).order_by(table.c[key].desc()).limit(1))
            found[table.name] = dict(row.mappings().one())
    log.close()
    return found


def columns(row, mark):
    names = ", ".join(f'"{name}"' for name in row)
    return f"({names}) VALUES ({', '.join(mark for _ in row)})"


def plain_sqlite(path, rows, first, number, ready, done, _=None):
    connection = sqlite3.connect(path, isolation_level=None)
    for pragma in ("busy_timeout=60000", "journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON"):
        connection.execute(f"PRAGMA {pragma}")
    plain = {
        table: {k: str(v) if isinstance(v, datetime | date) else v for k, v in row.items()}
        for table, row in rows.items()
    }
    insert = {t: f"INSERT INTO {t} {columns(r, '?')}" for t, r in plain.items()}
    waits = []
    ready.wait()
    for n in range(first, first + number):
        start = time.perf_counter()
        connection.execute("BEGIN IMMEDIATE")
        _fill(plain, n)
        for table in PART:
            connection.execute(insert[table], list(plain[table].values()))
        connection.execute("COMMIT")
        waits.append(time.perf_counter() - start)
    done.put((1000 * statistics.median(waits), 1000 * max(waits)))


def _fill(rows, n):
    rows["coupon"].update(id=n, number=n)
    rows["coupon_revision"].update(id=n, coupon_id=n, place=n)
    rows["interface_result"].update(coupon_revision_id=n)


def plain_psycopg(address, rows, first, number, ready, done):
    import psycopg

    insert = {t: f"INSERT INTO {t} {columns(r, '%s')}" for t, r in rows.items()}
    waits = []
    with psycopg.connect(address) as connection:
        connection.execute(f"SET advisor.shop = '{rows['coupon']['shop_id']}'")
        connection.commit()
        ready.wait()
        for n in range(first, first + number):
            start = time.perf_counter()
            _fill(rows, n)
            for table in PART:
                connection.execute(insert[table], list(rows[table].values()))
            connection.commit()
            waits.append(time.perf_counter() - start)
    done.put((1000 * statistics.median(waits), 1000 * max(waits)))


def together(work, arguments, number):
    """Run one process for each list of arguments at once; return rows a second and the waits."""
    ready, done = mp.Barrier(len(arguments) + 1), mp.Queue()
    started = [mp.Process(target=work, args=(*each, ready, done)) for each in arguments]
    for process in started:
        process.start()
    ready.wait()
    start = time.perf_counter()
    waits = [done.get(timeout=300) for _ in started]
    taken = time.perf_counter() - start
    for process in started:
        process.join()
        assert process.exitcode == 0
    medians, worst = zip(*waits, strict=True)
    return len(arguments) * number / taken, statistics.median(medians), max(worst)


def in_threads(work, arguments, number):
    """The same in threads of one process, as the sessions of one server are."""
    ready, done = threading.Barrier(len(arguments) + 1), queue.Queue()
    started = [
        threading.Thread(target=work, args=(*each[:-1], ready, done, each[-1]))
        for each in arguments
    ]
    for thread in started:
        thread.start()
    ready.wait()
    start = time.perf_counter()
    for thread in started:
        thread.join()
    taken = time.perf_counter() - start
    medians, worst = zip(*(done.get() for _ in started), strict=True)
    return len(arguments) * number / taken, statistics.median(medians), max(worst)


def fill_shops(url, shops):
    from store_examples import fill

    from advisor.store.log import open_log

    for name in shops:
        log = fill(open_log(url, name))
        log.save_rules(log.rules(), "Lead")
        log.close()


def show(name, mine, plain):
    ratio = mine[0] / plain[0]
    print(
        f"{name:44} ours {mine[0]:7.0f}/s (median {mine[1]:5.1f}, worst {mine[2]:6.0f} ms)   "
        f"plain {plain[0]:7.0f}/s ({plain[1]:5.1f}, {plain[2]:6.0f})   ratio {ratio:.2f}"
    )


def on_sqlite(folder, writers, each, runs):
    from advisor.store.log import open_log

    for _ in range(runs):
        here = Path(tempfile.mkdtemp(dir=folder))
        one, other = (f"sqlite:///{here / name}" for name in ("ours.sqlite", "plain.sqlite"))
        for url in (one, other):
            fill_shops(url, ["Shop"])
        rows = rows_of(other, "Shop")
        path, middle = here / "plain.sqlite", 10 + writers * each
        log = open_log(one, "Shop")
        mine = in_threads(ours, [(one, "Shop", each, log)] * writers, each)
        parts = [(path, deepcopy(rows), 10 + n * each, each, None) for n in range(writers)]
        plain = in_threads(plain_sqlite, parts, each)
        show(f"SQLite, {writers} sessions of one server x {each}", mine, plain)
        log.close()
        mine = together(ours, [(one, "Shop", each)] * writers, each)
        parts = [(path, rows, middle + n * each, each) for n in range(writers)]
        show(f"SQLite, {writers} programs x {each}", mine, together(plain_sqlite, parts, each))


def on_postgresql(writers, each, shops, runs):
    import postgres_server

    if postgres_server.missing():
        print(postgres_server.missing())
        return
    names = [f"Shop {n}" for n in range(shops)]
    with postgres_server.running() as server:
        for name, value in {"fsync": "on", "synchronous_commit": "on"}.items():
            server.owner.execute(f"ALTER SYSTEM SET {name} = '{value}'")
        server.owner.execute("SELECT pg_reload_conf()")
        for _ in range(runs):
            with server.database() as mine, server.database() as plain:
                for database in (mine, plain):
                    fill_shops(server.url(database), names)
                taken = together(
                    ours,
                    [(server.url(mine), names[n % shops], each) for n in range(writers)],
                    each,
                )
                parts = _plain_parts(server, plain, names, writers, each)
                compared = together(plain_psycopg, parts, each)
                show(f"PostgreSQL, {writers} writers x {each}, {shops} shops", taken, compared)


def _plain_parts(server, database, names, writers, each):
    rows = [rows_of(server.url(database), name) for name in names]
    address = server.url(database).replace("+psycopg", "")
    return [(address, rows[n % len(names)], 1000 + n * each, each) for n in range(writers)]


if __name__ == "__main__":
    mp.set_start_method("spawn")
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 3
    with tempfile.TemporaryDirectory() as folder:
        on_sqlite(folder, 8, 1000, runs)
    on_postgresql(32, 100, 8, runs)
    on_postgresql(32, 100, 1, runs)
