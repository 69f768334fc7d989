"""The tables of the log. Migrations make them; a test holds the two together.

A coupon is an identity with a number; all that was written down about it is in its revisions, and
only the newest one counts. Every row carries its shop.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import (
    Boolean,
    Column,
    Date,
    DateTime,
    Dialect,
    Float,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    Text,
    TypeDecorator,
    UniqueConstraint,
    false,
    text,
)

from advisor.coupons.causes import Cause
from advisor.weld.setting import NUMBERS

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(column_0_label)s",
        "uq": "uq_%(table_name)s_%(column_0_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
        "pk": "pk_%(table_name)s",
    }
)


class Moment(TypeDecorator[datetime]):
    """A moment with its time zone; kept in UTC, also where the database knows no zones."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Turn a moment into UTC."""
        if value is None:
            return None
        moment = value.astimezone(UTC)
        return moment.replace(tzinfo=None) if dialect.name == "sqlite" else moment

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:
        """Give a moment read from the database its time zone."""
        if value is None:
            return None
        read: datetime = value
        return read.replace(tzinfo=UTC) if read.tzinfo is None else read.astimezone(UTC)


def _id() -> Column[int]:
    return Column("id", Integer, primary_key=True)


def _to(table: str, *, nullable: bool = False) -> Column[int]:
    return Column(f"{table}_id", ForeignKey(f"{table}.id"), nullable=nullable)


def _text(name: str, length: int = 200) -> Column[str]:
    return Column(name, String(length), nullable=False)


def _named() -> tuple[Column[str], Column[str]]:
    """Name as it is shown, and the key it is found by, whatever its case."""
    return _text("name"), _text("name_key")


def _number(name: str, *, nullable: bool = False) -> Column[float]:
    return Column(name, Float, nullable=nullable)


def _flag(name: str) -> Column[bool]:
    return Column(name, Boolean, nullable=False)


def _at(name: str, *, nullable: bool = False) -> Column[datetime]:
    return Column(name, Moment, nullable=nullable)


def _sealed(table: str) -> tuple[Column[int], Column[str], Index]:
    """Place of a row in its shop, without gaps, and the hash over it and the row before."""
    return (
        Column("place", Integer, nullable=False),
        Column("seal", String(64), nullable=False),
        Index(f"ix_{table}_place", "shop_id", "place", unique=True),
    )


shop = Table(
    "shop",
    metadata,
    _id(),
    _text("name"),
    _flag("is_demo"),
    Column("is_copy", Boolean, nullable=False, server_default=false()),
    _at("created_at"),
)

welder = Table(
    "welder", metadata, _id(), _to("shop"), *_named(), UniqueConstraint("shop_id", "name_key")
)

machine = Table(
    "machine",
    metadata,
    _id(),
    _to("shop"),
    *_named(),
    _number("largest_current_kA"),
    _number("smallest_current_kA"),
    _number("largest_force_kN"),
    _number("smallest_force_kN"),
    _number("mains_hz"),
    _flag("is_inverter"),
    _number("force_kN_per_bar", nullable=True),
    _number("force_offset_kN"),
    UniqueConstraint("shop_id", "name_key"),
)

machine_event = Table(
    "machine_event",
    metadata,
    _id(),
    _to("shop"),
    _to("machine"),
    _text("kind", 20),
    _at("at"),
    Column("cap_shape", String(20)),
    _number("face_mm", nullable=True),
    Column("cap_material", String(200)),
    _text("note", 2000),
    _text("recorded_by"),
    _at("recorded_at"),
    *_sealed("machine_event"),
    Index("ix_machine_event_machine", "machine_id", "at"),
)

adhesive = Table(
    "adhesive",
    metadata,
    _id(),
    _to("shop"),
    *_named(),
    *(
        _number(f"{part}_{end}_min")
        for part in ("work", "clamp", "cure")
        for end in ("low", "high")
    ),
    _number("label_degC"),
    _text("note", 2000),
    _number("bead_mm", nullable=True),
    _number("bond_line_mm", nullable=True),
    UniqueConstraint("shop_id", "name_key"),
)

rules = Table(
    "rules",
    metadata,
    _id(),
    _to("shop"),
    Column("body", Text, nullable=False),
    _text("recorded_by"),
    _at("recorded_at"),
    *_sealed("rules"),
)

job = Table(
    "job",
    metadata,
    _id(),
    _to("shop"),
    _text("number"),
    _text("number_key"),
    _at("opened_at"),
    _at("closed_at", nullable=True),
    UniqueConstraint("shop_id", "number"),
    Index("ix_job_number_key", "shop_id", "number_key"),
)

stack = Table(
    "stack",
    metadata,
    _id(),
    _to("shop"),
    _text("fingerprint", 64),
    Column("body", Text, nullable=False),
    _text("title", 1000),
    Column("sheets", Integer, nullable=False),
    _text("adhesive_state", 20),
    UniqueConstraint("shop_id", "fingerprint"),
)

joint = Table(
    "joint",
    metadata,
    _id(),
    _to("shop"),
    _to("job"),
    _text("name"),
    _to("stack"),
    _flag("turned_over"),
    _to("machine"),
    Column("setting", Text),
    Column("welds", Integer),
    _number("pitch_mm", nullable=True),
    Index("ix_joint_job", "job_id"),
)

coupon = Table(
    "coupon",
    metadata,
    _id(),
    _to("shop"),
    Column("number", Integer, nullable=False),
    UniqueConstraint("shop_id", "number"),
)

coupon_revision = Table(
    "coupon_revision",
    metadata,
    _id(),
    _to("shop"),
    _to("coupon"),
    Column("revision", Integer, nullable=False),
    _at("made_at"),
    _to("welder"),
    _to("machine"),
    _to("stack"),
    _flag("turned_over"),
    _text("job"),
    _text("cap_shape", 20),
    _number("face_mm"),
    _text("cap_material"),
    Column("welds_since_dressing", Integer),
    *(_number(name) for name in NUMBERS),
    Column("pulses", Integer, nullable=False),
    _text("test", 20),
    _flag("expulsion"),
    _flag("edge_weld"),
    _flag("cracks"),
    Column("notes", Text, nullable=False),
    _text("outcome", 10),
    Column("reasons", Text, nullable=False),
    _to("rules"),
    Column("voided", Text, nullable=False),
    Column("origin", String(200), nullable=False, server_default=""),
    Column("why", Text, nullable=False),
    _text("recorded_by"),
    _at("recorded_at"),
    # What it is counted as, worked out when it is written; no part of what it says.
    Column("purpose", String(10), nullable=False, server_default=""),
    Column("causes", String(100), nullable=False, server_default=""),
    *_sealed("coupon_revision"),
    UniqueConstraint("coupon_id", "revision"),
    Index("ix_revision_machine", "shop_id", "machine_id", "made_at"),
    Index("ix_revision_job", "shop_id", "job", "made_at"),
    Index("ix_revision_made", "shop_id", "made_at"),
    Index("ix_revision_stack", "shop_id", "stack_id", "made_at"),
    # Few are voided: only they are in it.
    Index(
        "ix_revision_voided",
        "shop_id",
        "recorded_at",
        sqlite_where=text("voided <> ''"),
        postgresql_where=text("voided <> ''"),
    ),
)

foretold = Table(
    "foretold",
    metadata,
    _id(),
    _to("shop"),
    _to("coupon"),
    _number("chance_sound"),
    _number("chance_expulsion"),
    Column("coupons_known", Integer, nullable=False),
    _at("recorded_at"),
    *_sealed("foretold"),
    UniqueConstraint("coupon_id"),
)

interface_result = Table(
    "interface_result",
    metadata,
    Column("coupon_revision_id", ForeignKey("coupon_revision.id"), primary_key=True),
    Column("position", Integer, primary_key=True),
    _to("shop"),
    _number("smallest_mm", nullable=True),
    _number("largest_mm", nullable=True),
    Column("failure", String(30)),
)

preference = Table(
    "preference",
    metadata,
    Column("shop_id", ForeignKey("shop.id"), primary_key=True),
    Column("who", String(200), primary_key=True),
    Column("name", String(200), primary_key=True),
    Column("value", Text, nullable=False),
)

change_log = Table(
    "change_log",
    metadata,
    _id(),
    _to("shop"),
    _at("at"),
    _text("who"),
    _text("what", 1000),
    Column("before", Text),
    Column("after", Text),
    *_sealed("change_log"),
)

adhesive_clock = Table(
    "adhesive_clock",
    metadata,
    _id(),
    _to("shop"),
    _to("adhesive"),
    _text("used_for"),
    _at("mixed_at"),
    _text("started_by"),
    _at("stopped_at", nullable=True),
    Column("stopped_by", String(200)),
    Index("ix_adhesive_clock_running", "shop_id", "stopped_at"),
)

clock_reading = Table(
    "clock_reading",
    metadata,
    _id(),
    _to("shop"),
    _to("adhesive_clock"),
    _at("at"),
    _number("degC"),
    _text("recorded_by"),
    Index("ix_clock_reading_clock", "adhesive_clock_id", "at"),
)

release = Table(
    "release",
    metadata,
    _id(),
    _to("shop"),
    _to("joint"),
    Column("setting", Text, nullable=False),
    Column("evidence", Text, nullable=False),
    Column("note", Text, nullable=False),
    _text("released_by"),
    _at("released_at"),
    *_sealed("release"),
    Index("ix_release_joint", "joint_id", "released_at"),
    Index("ix_release_at", "shop_id", "released_at"),
)

preparation_check = Table(
    "preparation_check",
    metadata,
    _id(),
    _to("shop"),
    _to("joint"),
    _text("name", 40),
    _text("answer", 20),
    _number("measured", nullable=True),
    _text("recorded_by"),
    _at("recorded_at"),
    *_sealed("preparation_check"),
    Index("ix_preparation_check_joint", "joint_id"),
)

maker_recommendation = Table(
    "maker_recommendation",
    metadata,
    _id(),
    _to("shop"),
    _to("machine"),
    _to("stack"),
    _text("document"),
    _text("page"),
    Column("settings", Text, nullable=False),
    _text("recorded_by"),
    _at("recorded_at"),
    *_sealed("maker_recommendation"),
    Index("ix_maker_recommendation_stack", "machine_id", "stack_id"),
)

joint_template = Table(
    "joint_template",
    metadata,
    _id(),
    _to("shop"),
    *_named(),
    _to("stack"),
    _flag("turned_over"),
    _to("machine"),
    Column("welds", Integer),
    _number("pitch_mm", nullable=True),
    UniqueConstraint("shop_id", "name_key"),
)

access = Table(
    "access",
    metadata,
    Column("welder_id", ForeignKey("welder.id"), primary_key=True),
    _to("shop"),
    _text("role", 20),
    Column("pin", String(200)),
    Column("email", String(200)),
    Column("wrong_tries", Integer, nullable=False, server_default="0"),
    _at("tried_at", nullable=True),
    _at("locked_at", nullable=True),
    _at("left_at", nullable=True),
    Index("ix_access_shop", "shop_id"),
)

visit = Table(
    "visit",
    metadata,
    Column("token_hash", String(64), primary_key=True),
    _to("shop"),
    _to("welder"),
    _at("began_at"),
    _at("until"),
    _at("ended_at", nullable=True),
)

draft = Table(
    "draft",
    metadata,
    Column("shop_id", ForeignKey("shop.id"), primary_key=True),
    Column("who", String(200), primary_key=True),
    Column("form", String(200), primary_key=True),
    Column("body", Text, nullable=False),
    _at("saved_at"),
)

coupon_photo = Table(
    "coupon_photo",
    metadata,
    _id(),
    _to("shop"),
    _to("coupon"),
    _text("sha256", 64),
    _text("media", 20),
    Column("bytes", Integer, nullable=False),
    Column("width_px", Integer, nullable=False),
    Column("height_px", Integer, nullable=False),
    _text("recorded_by"),
    _at("recorded_at"),
    *_sealed("coupon_photo"),
    UniqueConstraint("coupon_id", "sha256"),
)

#: What is counted of coupons: verdicts, expulsions, and each cause of a failure.
COUNTED = ("passed", "failed", "open", "expelled", *(f"by_{cause.value}" for cause in Cause))
#: Coupons counted by day, month and year (UTC) of welding, so that no page counts them.
tally = Table(
    "tally",
    metadata,
    Column("shop_id", ForeignKey("shop.id"), primary_key=True),
    Column("span", String(5), primary_key=True),
    Column("starts", Date, primary_key=True),
    Column("welder_id", ForeignKey("welder.id"), primary_key=True),
    Column("machine_id", ForeignKey("machine.id"), primary_key=True),
    Column("stack_id", ForeignKey("stack.id"), primary_key=True),
    Column("purpose", String(10), primary_key=True),
    *(Column(name, Integer, nullable=False) for name in COUNTED),
    sqlite_with_rowid=False,
)

#: Tables whose rows are never updated or deleted; those with a seal are chained by it.
SEALED = (
    coupon_revision,
    release,
    rules,
    machine_event,
    preparation_check,
    maker_recommendation,
    coupon_photo,
    foretold,
    change_log,
)
APPEND_ONLY = (*SEALED, coupon, interface_result, stack)
