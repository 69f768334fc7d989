"""What pages ask of the log is served by indexes: no page reads a table of coupons from end to end.

The plans can be read with ``pytest tests/store/test_plans.py -s``.
"""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from sqlalchemy import event, text
from store_examples import BY, NOW, PASSING

from advisor.coupons.foretold import Foretold
from advisor.coupons.joint import Joint
from advisor.coupons.purpose import Purpose
from advisor.store.reviewing import Which

BIG = (
    *("coupon", "coupon_revision", "interface_result", "tally", "change_log", "coupon_photo"),
    *("foretold", "release"),
)
EARLY, DAYS = NOW - timedelta(days=60), Which(date(2026, 9, 2), date(2026, 12, 31))
SAID = Foretold(0.9, 0.1, 30)
LATER = replace(PASSING, made_at=PASSING.made_at + timedelta(days=1), job="RO 7")
JOINT = Joint("sill", "RO 1", PASSING.stack, "gun 1")
READS = {
    "joints of a job": lambda log: log.joint_states("RO 1", NOW),
    "names of joints": lambda log: log.joint_names(),
    "coverage": lambda log: log.coverage(JOINT, NOW),
    "newest coupons": lambda log: log.recent_coupons(5),
    "newest coupons of a job": lambda log: log.recent_coupons(5, job="RO 1"),
    "one coupon": lambda log: log.coupon(1),
    "its history": lambda log: log.history(1),
    "its photos": lambda log: log.photos(1),
    "newest of a stack": lambda log: log.newest_of(PASSING.stack, "gun 1"),
    "what a machine learns from": lambda log: log.coupons_for_learning("gun 1"),
    "its newest revisions": lambda log: log.newest_revisions("gun 1", 300),
    "newest seal": lambda log: log.last_seal(),
    "pass rates of 90 days": lambda log: log.pass_counts("welder", Which(date(2026, 9, 2))),
    "families of one welder": lambda log: log.pass_counts("family", Which(welder="Kim")),
    "counts by purpose": lambda log: log.pass_counts("purpose", Which(purpose=Purpose.FIRST)),
    "counts by week": lambda log: log.counts_by_time("week", DAYS),
    "counts by month": lambda log: log.counts_by_time("month"),
    "failures": lambda log: log.failures(DAYS),
    "two welders": lambda log: log.strata("Kim", "Robin, junior", DAYS),
    "electrodes of a machine": lambda log: log.electrodes("gun 1"),
    "drift": lambda log: log.drift_coupons("gun 1", PASSING.electrode),
    "seal of drift": lambda log: log.drift_seal(),
    "foretold": lambda log: log.foretold_sums("sound"),
    "foretold of a machine": lambda log: log.foretold_bins("expulsion", "gun 1"),
    "releases": lambda log: log.releases_between(EARLY, NOW, NOW),
    "voided coupons": lambda log: log.voided_between(EARLY, NOW),
    "waiting joints": lambda log: log.waiting(NOW),
    "caps": lambda log: log.caps(),
    "pass rates of all time": lambda log: log.pass_counts("stack"),
    "counts": lambda log: log.counts(),
    "events of a machine": lambda log: log.events("gun 1"),
    "newest changes": lambda log: log.changes(5),
    "whether the log is empty": lambda log: log.is_empty(),
    "logging a coupon": lambda log: log.add_coupon(PASSING, "Kim", NOW),
    "logging a foretold coupon": lambda log: log.add_coupon(PASSING, "Kim", NOW, SAID),
    "importing coupons": lambda log: log.import_coupons([LATER, PASSING], "Kim", NOW),
    "correcting a coupon": lambda log: log.correct_coupon(1, LATER, "Lead", "misread", NOW),
    "walking all coupons": lambda log: next(log.iter_coupons(2)),
}


@pytest.fixture
def asked(log):
    """A log with a few coupons, and a list of the statements that are asked of it."""
    joint = log.save_joint(JOINT, BY)
    log.import_coupons([PASSING] * 30, "Kim", NOW)
    log.add_coupon(PASSING, "Kim", NOW, SAID)
    log.fit_caps("gun 1", PASSING.electrode, PASSING.made_at - timedelta(days=1), BY)
    log.release(joint, BY, "", NOW - timedelta(days=20))
    log.void_coupon(2, BY, "wrong sheet", NOW - timedelta(days=10))
    found = []

    @event.listens_for(log._engine, "before_cursor_execute")
    def _note(_connection, _cursor, statement, values, _context, many):
        if statement.lstrip().upper().startswith(("SELECT", "INSERT")):
            found.append((statement, values[0] if many else values))

    return log, found


def plan(connection, statement, values):
    kind = "QUERY PLAN " if connection.dialect.name == "sqlite" else ""
    found = connection.exec_driver_sql(f"EXPLAIN {kind}{statement}", values).all()
    return [str(row[-1]) for row in found]


def reads_all_of(line):
    """Return the big table that a line of a plan reads from end to end, None when it does not."""
    words = line.replace("->", " ").split()
    if "SCAN" in words and "INDEX" not in words:
        name = words[words.index("SCAN") + 1]
    elif words[:3] == ["Seq", "Scan", "on"]:
        name = words[3]
    else:
        return None
    return name if name in BIG else None


@pytest.mark.parametrize("read", READS)
def test_no_page_reads_a_big_table_from_end_to_end(asked, read):
    log, found = asked
    found.clear()
    READS[read](log)
    statements = list(found)
    assert statements
    with log._engine.begin() as connection:
        if connection.dialect.name == "postgresql":
            # Thirty coupons are read fastest in one go; ask what is done when they are many.
            connection.execute(text("SET LOCAL enable_seqscan = off"))
        lines = [line for each in statements for line in plan(connection, *each)]
    print(f"\n{read}\n  " + "\n  ".join(lines))
    assert [line for line in lines if reads_all_of(line)] == []


def test_a_table_read_from_end_to_end_is_seen(asked):
    log, _ = asked
    with log._engine.begin() as connection:
        if connection.dialect.name == "postgresql":
            # The policy of the table looks at the shop, and so at an index, if it may.
            connection.execute(text("SET LOCAL enable_indexscan = off"))
            connection.execute(text("SET LOCAL enable_bitmapscan = off"))
        lines = plan(connection, "SELECT * FROM coupon_revision WHERE notes = 'x'", ())
    assert [reads_all_of(line) for line in lines if reads_all_of(line)] == ["coupon_revision"]
