"""What coupons were welded for and why they failed, counted; what was foretold of them."""

import json
from collections import defaultdict, deque
from datetime import UTC, timedelta

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"

SERIES = timedelta(days=30)
#: Fields of a setting, and how far apart two may be and still be the same.
SETTING = {
    "current_kA": 0.05,
    "weld_ms": 0.5,
    "force_kN": 0.05,
    "squeeze_ms": 0.5,
    "hold_ms": 0.5,
    "pulses": 0.5,
    "pause_ms": 0.5,
    "pre_current_kA": 0.05,
    "pre_ms": 0.5,
}
#: What a failing reason says, and what it is counted as.
CAUSES = (
    ("no_fusion", ("no fusion",)),
    ("sheared", ("interface sheared flat", "interface with a small button")),
    ("too_small", (" mm against ",)),
    ("uneven", ("aspect ratio",)),
    ("expulsion", ("expulsion",)),
    ("edge_weld", ("edge weld",)),
    ("crack", ("visible crack",)),
)
COUNTED = ("passed", "failed", "open", "expelled", *(f"by_{name}" for name, _ in CAUSES))
AT_ONCE = 5000


def upgrade() -> None:
    op.add_column(
        "coupon_revision",
        sa.Column("purpose", sa.String(length=10), nullable=False, server_default=""),
    )
    op.add_column(
        "coupon_revision",
        sa.Column("causes", sa.String(length=100), nullable=False, server_default=""),
    )
    new_foretold()
    op.drop_table("tally")
    new_tally()
    postgresql = op.get_bind().dialect.name == "postgresql"
    if postgresql:
        for table in ("coupon_revision", "tally", "foretold"):
            op.execute(f"ALTER TABLE {table} NO FORCE ROW LEVEL SECURITY")
        op.execute("ALTER TABLE coupon_revision DISABLE TRIGGER coupon_revision_no_change")
    else:
        op.execute("DROP TRIGGER coupon_revision_no_update")
    tables = sa.MetaData()
    tables.reflect(op.get_bind())
    fill(tables)
    if postgresql:
        op.execute("ALTER TABLE coupon_revision ENABLE TRIGGER coupon_revision_no_change")
        isolate()
    else:
        op.execute(
            "CREATE TRIGGER coupon_revision_no_update BEFORE UPDATE ON coupon_revision "
            "BEGIN SELECT RAISE(ABORT, 'coupon_revision is never changed or deleted'); END"
        )
    refuse_changes()
    op.create_index(
        "ix_revision_voided",
        "coupon_revision",
        ["shop_id", "recorded_at"],
        sqlite_where=sa.text("voided <> ''"),
        postgresql_where=sa.text("voided <> ''"),
    )
    op.create_index("ix_release_at", "release", ["shop_id", "released_at"])


def new_foretold() -> None:
    op.create_table(
        "foretold",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("shop_id", sa.Integer(), nullable=False),
        sa.Column("coupon_id", sa.Integer(), nullable=False),
        sa.Column("chance_sound", sa.Float(), nullable=False),
        sa.Column("chance_expulsion", sa.Float(), nullable=False),
        sa.Column("coupons_known", sa.Integer(), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("seal", sa.String(length=64), nullable=False),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name="fk_foretold_shop_id"),
        sa.ForeignKeyConstraint(["coupon_id"], ["coupon.id"], name="fk_foretold_coupon_id"),
        sa.PrimaryKeyConstraint("id", name="pk_foretold"),
        sa.UniqueConstraint("coupon_id", name="uq_foretold_coupon_id"),
    )
    op.create_index("ix_foretold_place", "foretold", ["shop_id", "place"], unique=True)


def new_tally() -> None:
    ids = ("welder_id", "machine_id", "stack_id")
    op.create_table(
        "tally",
        sa.Column("shop_id", sa.Integer(), nullable=False),
        sa.Column("span", sa.String(length=5), nullable=False),
        sa.Column("starts", sa.Date(), nullable=False),
        *(sa.Column(name, sa.Integer(), nullable=False) for name in ids),
        sa.Column("purpose", sa.String(length=10), nullable=False),
        *(sa.Column(name, sa.Integer(), nullable=False) for name in COUNTED),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name="fk_tally_shop_id"),
        *(
            sa.ForeignKeyConstraint([name], [f"{name[:-3]}.id"], name=f"fk_tally_{name}")
            for name in ids
        ),
        sa.PrimaryKeyConstraint("shop_id", "span", "starts", *ids, "purpose", name="pk_tally"),
        sqlite_with_rowid=False,
    )


def fill(tables: sa.MetaData) -> None:
    """Say of every coupon that counts what it was welded for and why it failed, and count it."""
    r, bind = tables.tables["coupon_revision"], op.get_bind()
    names = ("id", "made_at", "outcome", "reasons", "expulsion", *SETTING)
    groups = ("shop_id", "machine_id", "stack_id", "job")
    newer = r.alias()
    newest = ~(
        sa.select(newer.c.id)
        .where(newer.c.coupon_id == r.c.coupon_id, newer.c.revision > r.c.revision)
        .exists()
    )
    query = (
        sa.select(*(r.c[name] for name in (*groups, *names)), r.c.welder_id)
        .where(newest, r.c.voided == "")
        .order_by(*(r.c[name] for name in groups), r.c.made_at, r.c.id)
    )
    sums = defaultdict(lambda: [0] * len(COUNTED))
    found, group, before = [], None, deque()
    for row in bind.execute(query).mappings().all():
        mine = tuple(row[name] for name in groups)
        if mine != group:
            group, before = mine, deque()
        purpose = purpose_of(row, before)
        causes = causes_of(row)
        before.append(row)
        found.append({"its": row["id"], "purpose": purpose, "causes": " ".join(causes)})
        count(sums, row, purpose, causes)
    change = (
        sa.update(r)
        .where(r.c.id == sa.bindparam("its"))
        .values(purpose=sa.bindparam("purpose"), causes=sa.bindparam("causes"))
    )
    for start in range(0, len(found), AT_ONCE):
        bind.execute(change, found[start : start + AT_ONCE])
    keys = [column.name for column in tables.tables["tally"].c]
    new = [dict(zip(keys, (*key, *amounts), strict=True)) for key, amounts in sums.items()]
    for start in range(0, len(new), AT_ONCE):
        bind.execute(sa.insert(tables.tables["tally"]), new[start : start + AT_ONCE])


def purpose_of(row, before: deque) -> str:
    """Say what a coupon was for; `before` holds the coupons of its series, oldest first."""
    while before and before[0]["made_at"] < row["made_at"] - SERIES:
        before.popleft()
    earlier = [each for each in before if each["made_at"] < row["made_at"]]
    if not earlier:
        return "first"
    proven = any(each["outcome"] == "pass" and same(each, row) for each in earlier)
    return "release" if proven else "set_up"


def same(one, other) -> bool:
    return all(abs(one[name] - other[name]) < near - 1e-9 for name, near in SETTING.items())


def causes_of(row) -> list[str]:
    if row["outcome"] != "fail":
        return []
    failing = [text for way, text in json.loads(row["reasons"]) if way == "fail"]
    return [
        name
        for name, words in CAUSES
        if any(word in text for text in failing for word in words)
    ]


def count(sums, row, purpose: str, causes: list[str]) -> None:
    made_at = row["made_at"]
    day = (made_at if made_at.tzinfo else made_at.replace(tzinfo=UTC)).astimezone(UTC).date()
    amounts = [row["outcome"] == word for word in ("pass", "fail", "open")]
    amounts += [row["expulsion"], *(name in causes for name, _ in CAUSES)]
    starts = (("day", day), ("month", day.replace(day=1)), ("year", day.replace(month=1, day=1)))
    for span, start in starts:
        ids = (row["welder_id"], row["machine_id"], row["stack_id"])
        into = sums[(row["shop_id"], span, start, *ids, purpose)]
        for n, amount in enumerate(amounts):
            into[n] += int(amount)


def isolate() -> None:
    """Let a connection see the rows of its own shop only."""
    mine = "nullif(current_setting('advisor.shop', true), '')::int"
    for table in ("tally", "foretold"):
        op.execute(f"ALTER TABLE {table} ENABLE ROW LEVEL SECURITY")
        op.execute(f"CREATE POLICY own_shop ON {table} USING (shop_id = {mine})")
    for table in ("coupon_revision", "tally", "foretold"):
        op.execute(f"ALTER TABLE {table} FORCE ROW LEVEL SECURITY")


def refuse_changes() -> None:
    """Let the database refuse to update, delete, empty or replace what was foretold."""
    if op.get_bind().dialect.name == "postgresql":
        op.execute(
            "CREATE TRIGGER foretold_no_change BEFORE UPDATE OR DELETE ON foretold "
            "FOR EACH ROW EXECUTE FUNCTION refuse_change()"
        )
        op.execute(
            "CREATE TRIGGER foretold_no_emptying BEFORE TRUNCATE ON foretold "
            "FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()"
        )
        return
    says = "foretold is never changed or deleted"
    for verb in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER foretold_no_{verb.lower()} BEFORE {verb} ON foretold "
            f"BEGIN SELECT RAISE(ABORT, '{says}'); END"
        )
    op.execute(
        "CREATE TRIGGER foretold_no_replacing BEFORE INSERT ON foretold WHEN EXISTS "
        "(SELECT 1 FROM foretold WHERE (shop_id = NEW.shop_id AND place = NEW.place) "
        "OR coupon_id = NEW.coupon_id OR id = NEW.id) "
        f"BEGIN SELECT RAISE(ABORT, '{says}'); END"
    )
