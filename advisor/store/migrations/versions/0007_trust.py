"""Seals over the rows that never change, counts, people's access, drafts, photos, row security."""

import hashlib
import json
from collections import defaultdict
from datetime import UTC, datetime

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"

SEALED_BEFORE = (
    "rules",
    "machine_event",
    "preparation_check",
    "maker_recommendation",
    "change_log",
    "coupon_revision",
    "release",
)
WITH_SHOP = (
    "access",
    "adhesive",
    "adhesive_clock",
    "change_log",
    "clock_reading",
    "coupon",
    "coupon_photo",
    "coupon_revision",
    "draft",
    "interface_result",
    "job",
    "joint",
    "joint_template",
    "machine",
    "machine_event",
    "maker_recommendation",
    "preference",
    "preparation_check",
    "release",
    "rules",
    "stack",
    "tally",
    "visit",
    "welder",
)


def upgrade() -> None:
    new_tables()
    new_columns()
    tables = sa.MetaData()
    tables.reflect(op.get_bind())
    allow_changes()
    fill_job_keys(tables)
    fill_seals(tables)
    fill_tally(tables)
    fill_access(tables)
    for table in (*SEALED_BEFORE, "coupon_photo"):
        op.create_index(f"ix_{table}_place", table, ["shop_id", "place"], unique=True)
    op.create_index("ix_job_number_key", "job", ["shop_id", "number_key"])
    op.create_index("ix_revision_made", "coupon_revision", ["shop_id", "made_at"])
    op.create_index("ix_revision_stack", "coupon_revision", ["shop_id", "stack_id", "made_at"])
    op.drop_index("ix_revision_counts", "coupon_revision")
    op.drop_index("ix_revision_job", "coupon_revision")
    op.create_index("ix_revision_job", "coupon_revision", ["shop_id", "job", "made_at"])
    for table in (*SEALED_BEFORE, "coupon", "interface_result", "stack", "coupon_photo"):
        refuse_changes(table)
    if op.get_bind().dialect.name == "postgresql":
        isolate_shops()


def new_tables() -> None:
    op.create_table(
        "access",
        sa.Column("welder_id", sa.Integer(), nullable=False),
        sa.Column("shop_id", sa.Integer(), nullable=False),
        sa.Column("role", sa.String(length=20), nullable=False),
        sa.Column("pin", sa.String(length=200), nullable=True),
        sa.Column("email", sa.String(length=200), nullable=True),
        sa.Column("wrong_tries", sa.Integer(), nullable=False, server_default="0"),
        sa.Column("tried_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("locked_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("left_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["welder_id"], ["welder.id"], name="fk_access_welder_id"),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name="fk_access_shop_id"),
        sa.PrimaryKeyConstraint("welder_id", name="pk_access"),
    )
    op.create_index("ix_access_shop", "access", ["shop_id"])
    op.create_table(
        "visit",
        sa.Column("token_hash", sa.String(length=64), nullable=False),
        sa.Column("shop_id", sa.Integer(), nullable=False),
        sa.Column("welder_id", sa.Integer(), nullable=False),
        sa.Column("began_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("until", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name="fk_visit_shop_id"),
        sa.ForeignKeyConstraint(["welder_id"], ["welder.id"], name="fk_visit_welder_id"),
        sa.PrimaryKeyConstraint("token_hash", name="pk_visit"),
    )
    op.create_table(
        "draft",
        sa.Column("shop_id", sa.Integer(), nullable=False),
        sa.Column("who", sa.String(length=200), nullable=False),
        sa.Column("form", sa.String(length=200), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("saved_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name="fk_draft_shop_id"),
        sa.PrimaryKeyConstraint("shop_id", "who", "form", name="pk_draft"),
    )
    op.create_table(
        "coupon_photo",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("shop_id", sa.Integer(), nullable=False),
        sa.Column("coupon_id", sa.Integer(), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("media", sa.String(length=20), nullable=False),
        sa.Column("bytes", sa.Integer(), nullable=False),
        sa.Column("width_px", sa.Integer(), nullable=False),
        sa.Column("height_px", sa.Integer(), nullable=False),
        sa.Column("recorded_by", sa.String(length=200), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("seal", sa.String(length=64), nullable=False),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name="fk_coupon_photo_shop_id"),
        sa.ForeignKeyConstraint(["coupon_id"], ["coupon.id"], name="fk_coupon_photo_coupon_id"),
        sa.PrimaryKeyConstraint("id", name="pk_coupon_photo"),
        sa.UniqueConstraint("coupon_id", "sha256", name="uq_coupon_photo_coupon_id"),
    )
    ids = ("welder_id", "machine_id", "stack_id")
    op.create_table(
        "tally",
        sa.Column("shop_id", sa.Integer(), nullable=False),
        sa.Column("span", sa.String(length=5), nullable=False),
        sa.Column("starts", sa.Date(), nullable=False),
        *(sa.Column(name, sa.Integer(), nullable=False) for name in ids),
        *(
            sa.Column(name, sa.Integer(), nullable=False)
            for name in ("passed", "failed", "open", "expelled")
        ),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name="fk_tally_shop_id"),
        *(
            sa.ForeignKeyConstraint([name], [f"{name[:-3]}.id"], name=f"fk_tally_{name}")
            for name in ids
        ),
        sa.PrimaryKeyConstraint("shop_id", "span", "starts", *ids, name="pk_tally"),
        sqlite_with_rowid=False,
    )


def new_columns() -> None:
    op.add_column(
        "shop", sa.Column("is_copy", sa.Boolean(), nullable=False, server_default=sa.false())
    )
    op.add_column(
        "job", sa.Column("number_key", sa.String(length=200), nullable=False, server_default="")
    )
    for table in SEALED_BEFORE:
        op.add_column(
            table, sa.Column("place", sa.Integer(), nullable=False, server_default="0")
        )
        op.add_column(
            table, sa.Column("seal", sa.String(length=64), nullable=False, server_default="")
        )


def allow_changes() -> None:
    """Take the triggers away while the new columns are filled."""
    sqlite = op.get_bind().dialect.name == "sqlite"
    for table in (*SEALED_BEFORE, "coupon", "interface_result"):
        if sqlite:
            op.execute(f"DROP TRIGGER {table}_no_update")
            op.execute(f"DROP TRIGGER {table}_no_delete")
        else:
            op.execute(f"DROP TRIGGER {table}_no_change ON {table}")


def refuse_changes(table: str) -> None:
    """Let the database refuse to update, delete, empty or replace rows of a table."""
    says = f"{table} is never changed or deleted"
    if op.get_bind().dialect.name != "sqlite":
        op.execute(
            f"CREATE TRIGGER {table}_no_change BEFORE UPDATE OR DELETE ON {table} "
            "FOR EACH ROW EXECUTE FUNCTION refuse_change()"
        )
        op.execute(
            f"CREATE TRIGGER {table}_no_emptying BEFORE TRUNCATE ON {table} "
            "FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()"
        )
        return
    for verb in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} "
            f"BEGIN SELECT RAISE(ABORT, '{says}'); END"
        )
    # INSERT OR REPLACE deletes without telling the trigger above.
    key = {
        "coupon": "shop_id = NEW.shop_id AND number = NEW.number",
        "stack": "shop_id = NEW.shop_id AND fingerprint = NEW.fingerprint",
        "interface_result": (
            "coupon_revision_id = NEW.coupon_revision_id AND position = NEW.position"
        ),
    }.get(table, "shop_id = NEW.shop_id AND place = NEW.place")
    known = "" if table == "interface_result" else "OR id = NEW.id"
    op.execute(
        f"CREATE TRIGGER {table}_no_replacing BEFORE INSERT ON {table} "
        f"WHEN EXISTS (SELECT 1 FROM {table} WHERE ({key}) {known}) "
        f"BEGIN SELECT RAISE(ABORT, '{says}'); END"
    )


def fill_job_keys(tables: sa.MetaData) -> None:
    job, bind = tables.tables["job"], op.get_bind()
    for row in bind.execute(sa.select(job.c.id, job.c.number)).all():
        key = " ".join(row.number.split()).casefold()
        bind.execute(sa.update(job).where(job.c.id == row.id).values(number_key=key))


def fill_seals(tables: sa.MetaData) -> None:
    """Chain what was written before there were seals, as it stands now."""
    t = tables.tables
    bind = op.get_bind()
    for name in SEALED_BEFORE:
        table = t[name]
        query, points = meaning(name, t)
        ends = defaultdict(lambda: (0, ""))
        for row in bind.execute(query.order_by(table.c.id)).mappings().all():
            says = plain(table, row)
            says.update({key: read(bind, row) for key, read in points.items()})
            place, before = ends[row["shop_id"]]
            text = json.dumps(
                [name, place + 1, before, says], sort_keys=True, separators=(",", ":")
            )
            seal = hashlib.sha256(text.encode()).hexdigest()
            ends[row["shop_id"]] = (place + 1, seal)
            bind.execute(
                sa.update(table).where(table.c.id == row["id"]).values(place=place + 1, seal=seal)
            )


def plain(table: sa.Table, row) -> dict:
    found = {}
    for column in table.c:
        name, value = column.name, row[column.name]
        if name in {"id", "shop_id", "place", "seal"} or name.endswith("_id"):
            continue
        if isinstance(value, datetime):
            moment = value if value.tzinfo else value.replace(tzinfo=UTC)
            value = moment.astimezone(UTC).isoformat(timespec="microseconds")
        elif value is not None and isinstance(column.type, sa.Float):
            value = float(value)
        found[name] = value
    return found


def meaning(name: str, t) -> tuple:
    """Return the query of a table's rows and what stands for the ids in them."""
    table = t[name]
    columns, joins, points = [table], table, {}

    def point(key: str, other: sa.Table, column: str, label: str) -> None:
        nonlocal joins
        joins = joins.join(other, other.c.id == table.c[f"{other.name}_id"])
        columns.append(other.c[column].label(label))
        points[key] = lambda _, row: row[label]

    if name in {"machine_event", "maker_recommendation", "coupon_revision"}:
        point("machine", t["machine"], "name", "_machine")
    if name in {"maker_recommendation", "coupon_revision"}:
        point("stack", t["stack"], "fingerprint", "_stack")
    if name == "coupon_revision":
        point("number", t["coupon"], "number", "_number")
        point("welder", t["welder"], "name", "_welder")
        point("rules", t["rules"], "seal", "_rules")
        points["results"] = lambda bind, row: results(bind, t["interface_result"], row["id"])
    if name == "preparation_check":
        points["joint"] = lambda _, row: row["joint_id"]
    if name == "release":
        joint = t["joint"]
        joins = joins.join(joint, joint.c.id == table.c.joint_id)
        for other, column in (("job", "number"), ("machine", "name"), ("stack", "fingerprint")):
            joins = joins.join(t[other], t[other].c.id == joint.c[f"{other}_id"])
            columns.append(t[other].c[column].label(f"_{other}"))
        columns.append(joint.c.name.label("_joint"))
        points = {
            "joint": lambda _, row: [row["joint_id"], row["_job"], row["_joint"]],
            "machine": lambda _, row: row["_machine"],
            "stack": lambda _, row: row["_stack"],
        }
    return sa.select(*columns).select_from(joins), points


def results(bind, table: sa.Table, revision_id: int) -> list:
    query = (
        sa.select(table.c.position, table.c.smallest_mm, table.c.largest_mm, table.c.failure)
        .where(table.c.coupon_revision_id == revision_id)
        .order_by(table.c.position)
    )
    return [
        [p, None if a is None else float(a), None if b is None else float(b), failure]
        for p, a, b, failure in bind.execute(query)
    ]


def fill_tally(tables: sa.MetaData) -> None:
    r, bind = tables.tables["coupon_revision"], op.get_bind()
    newer = r.alias()
    newest = ~(
        sa.select(newer.c.id)
        .where(newer.c.coupon_id == r.c.coupon_id, newer.c.revision > r.c.revision)
        .exists()
    )
    sums = defaultdict(lambda: [0, 0, 0, 0])
    for row in bind.execute(sa.select(r).where(newest, r.c.voided == "")):
        day = row.made_at
        day = (day if day.tzinfo else day.replace(tzinfo=UTC)).astimezone(UTC).date()
        starts = (("day", day), ("month", day.replace(day=1)), ("year", day.replace(month=1, day=1)))
        amounts = [row.outcome == word for word in ("pass", "fail", "open")] + [row.expulsion]
        for span, start in starts:
            into = sums[(row.shop_id, span, start, row.welder_id, row.machine_id, row.stack_id)]
            for n, amount in enumerate(amounts):
                into[n] += int(amount)
    names = [column.name for column in tables.tables["tally"].c]
    new = [dict(zip(names, (*key, *found), strict=True)) for key, found in sums.items()]
    if new:
        bind.execute(sa.insert(tables.tables["tally"]), new)


def fill_access(tables: sa.MetaData) -> None:
    """Whoever could do everything so far is a lead, until a lead says otherwise."""
    t, bind = tables.tables, op.get_bind()
    everybody = sa.select(t["welder"].c.id, t["welder"].c.shop_id, sa.literal("lead"))
    bind.execute(t["access"].insert().from_select(["welder_id", "shop_id", "role"], everybody))


def isolate_shops() -> None:
    """Let a connection see the rows of its own shop only, the tables' owner included.

    A later migration that touches rows takes FORCE away first and puts it back.
    """
    mine = "nullif(current_setting('advisor.shop', true), '')::int"
    for table in WITH_SHOP:
        op.execute(f"ALTER TABLE {table} ENABLE ROW LEVEL SECURITY")
        op.execute(f"ALTER TABLE {table} FORCE ROW LEVEL SECURITY")
        op.execute(f"CREATE POLICY own_shop ON {table} USING (shop_id = {mine})")
    op.execute("ALTER TABLE shop ENABLE ROW LEVEL SECURITY")
    op.execute("ALTER TABLE shop FORCE ROW LEVEL SECURITY")
    op.execute(
        f"CREATE POLICY own_shop ON shop USING (id = {mine} "
        "OR name = current_setting('advisor.shop_name', true))"
    )
