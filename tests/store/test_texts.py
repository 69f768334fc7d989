"""No way into the log takes a text that one of its databases refuses."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from sqlalchemy import select
from store_examples import BY, NOW, PASSING

from advisor.bonding.adhesive import Adhesive, Span
from advisor.coupons.joint import Joint
from advisor.coupons.recommendation import MakerRecommendation
from advisor.errors import InputError
from advisor.store.schema import metadata
from advisor.weld.machine import Machine
from advisor.weld.stack import AdhesiveState, Bond, Stack

BAD = ("a\0b", "\ud83d", "x\udfff")
GLUE = Adhesive("epoxy", Span(40, 50), Span(90, 120), Span(1440, 1440))


def glued(name):
    return Stack(PASSING.stack.sheets, (Bond(name, AdhesiveState.WET),))


WAYS = {
    "notes": lambda log, text: log.add_coupon(replace(PASSING, notes=text), BY, NOW),
    "job": lambda log, text: log.add_coupon(replace(PASSING, job=text), BY, NOW),
    "import": lambda log, text: log.import_coupons(
        [PASSING, replace(PASSING, notes=text, job="other")], BY, NOW
    ),
    "origin": lambda log, text: log.import_coupons(
        [replace(PASSING, notes="new")], BY, NOW, origin=text
    ),
    "bond": lambda log, text: log.add_coupon(replace(PASSING, stack=glued(text)), BY, NOW),
    "void": lambda log, text: log.void_coupon(1, BY, text),
    "why": lambda log, text: log.correct_coupon(1, PASSING, BY, text, NOW),
    "person": lambda log, text: log.add_welder(text, BY),
    "machine": lambda log, text: log.save_machine(Machine(text, 13, 5), BY),
    "event": lambda log, text: log.repair("gun 1", NOW, BY, text),
    "adhesive": lambda log, text: log.save_adhesive(replace(GLUE, note=text), BY),
    "joint": lambda log, text: log.save_joint(Joint(text, "RO", PASSING.stack, "gun 1"), BY),
    "order": lambda log, text: log.save_joint(Joint("sill", text, PASSING.stack, "gun 1"), BY),
    "usual": lambda log, text: log.save_template(
        text, Joint("sill", "RO", PASSING.stack, "gun 1"), BY
    ),
    "maker": lambda log, text: log.add_recommendation(
        MakerRecommendation("gun 1", PASSING.stack, "doc", "1", text, BY, NOW)
    ),
    "clock": lambda log, text: log.start_clock(
        "epoxy", text, datetime(2026, 1, 1, tzinfo=UTC), 20, BY
    ),
    "preference": lambda log, text: log.save_preferences(BY, {"length": text}),
    "by": lambda log, text: log.add_coupon(PASSING, text, NOW),
    "asked for": lambda log, text: log.machine(text),
    "searched": lambda log, text: log.recent_coupons(job=text),
}


def rows(log):
    with log._reading() as connection:
        return {t.name: connection.execute(select(t)).all() for t in metadata.sorted_tables}


@pytest.mark.parametrize("way", WAYS)
def test_a_text_that_cannot_be_stored_is_refused_with_its_name(log, way):
    log.add_coupon(PASSING, BY, NOW)
    log.save_adhesive(GLUE, BY)
    before = rows(log)
    for text in BAD:
        with pytest.raises(InputError, match=r"^[a-z ]+ holds a letter that cannot be stored"):
            WAYS[way](log, text)
    assert rows(log) == before


@pytest.mark.parametrize(
    ("way", "longest"), [("notes", 50_000), ("job", 200), ("event", 2000), ("order", 200)]
)
def test_a_text_longer_than_its_column_is_refused_and_one_as_long_is_kept(log, way, longest):
    with pytest.raises(InputError, match=rf"has {longest + 1:,} letters; at most {longest:,} are"):
        WAYS[way](log, "é" * (longest + 1))
    WAYS[way](log, "é" * longest)
    kept = [value for found in rows(log).values() for row in found for value in row]
    assert "é" * longest in kept


def test_letters_of_every_plane_are_kept(log):
    text = "Łucja 漢字 🔥 \u200b\x01\x7f\ufffe\U0010ffff ' ; --"
    number = log.add_coupon(replace(PASSING, notes=text), BY, NOW).number
    assert log.coupon(number).coupon.notes == text
