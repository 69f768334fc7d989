"""What pages ask of the log is served by indexes: no page reads a table of coupons from end to end.

The plans can be read with ``pytest tests/store/test_plans.py -s``.
"""

from datetime import date

import pytest
from sqlalchemy import event, text
from store_examples import BY, NOW, PASSING

from advisor.coupons.joint import Joint

BIG = ("coupon", "coupon_revision", "interface_result", "tally", "change_log", "coupon_photo")
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
    "pass rates of 90 days": lambda log: log.pass_counts("welder", date(2026, 9, 2)),
    "pass rates of all time": lambda log: log.pass_counts("stack"),
    "counts": lambda log: log.counts(),
    "events of a machine": lambda log: log.events("gun 1"),
    "newest changes": lambda log: log.changes(5),
    "whether the log is empty": lambda log: log.is_empty(),
    "logging a coupon": lambda log: log.add_coupon(PASSING, "Kim", NOW),
    "walking all coupons": lambda log: next(log.iter_coupons(2)),
}


@pytest.fixture
def asked(log):
    """A log with a few coupons, and a list of the statements that are asked of it."""
    log.save_joint(JOINT, BY)
    log.import_coupons([PASSING] * 30, "Kim", NOW)
    log.add_coupon(PASSING, "Kim", NOW)
    found = []

    @event.listens_for(log._engine, "before_cursor_execute")
    def _note(_connection, _cursor, statement, values, _context, _many):
        if statement.lstrip().upper().startswith(("SELECT", "INSERT")):
            found.append((statement, values))

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
