"""A whole log out and in again: equal, never twice, all or nothing, and nothing of here is lost."""

import io
from dataclasses import replace
from datetime import timedelta

import pytest
from exchange_makers import (
    BY,
    GOOD,
    NOW,
    PAIR,
    THEN,
    WET,
    add_coupons,
    all_reads,
    fill,
    header_of,
    whole_logs,
)
from hypothesis import HealthCheck, given, settings
from photo_examples import photo
from sqlalchemy import String, select

from advisor.coupons.coupon import InterfaceResult
from advisor.coupons.joint import Joint
from advisor.coupons.rules import JudgingRules, ShopRules
from advisor.coupons.verdict import Outcome, Reason, Verdict
from advisor.errors import InputError, RoleError
from advisor.exchange import records as r
from advisor.exchange.fields import Text
from advisor.exchange.json_lines import write_json_lines
from advisor.exchange.kinds import KINDS, REVISIONS
from advisor.exchange.log_file import LogFile
from advisor.people.roles import Role
from advisor.store import exchange
from advisor.store.arriving import shelves
from advisor.store.base import Trust
from advisor.store.log import open_log
from advisor.store.schema import coupon_revision, metadata
from advisor.weld.failure import FailureType
from advisor.weld.machine import Machine
from advisor.weld.sheet import Sheet
from advisor.weld.size import GoverningRule, SizeRule
from advisor.weld.stack import Stack

EARLY = GOOD.made_at - timedelta(days=3)


@pytest.fixture
def shop(url):
    """A shop with something of every kind."""
    opened = fill(open_log(url, "Bay A"))
    yield opened
    opened.close()


@pytest.fixture
def empty(url):
    opened = open_log(url, "Bay B")
    yield opened
    opened.close()


@pytest.fixture
def other(empty):
    """Another shop with three coupons of its own."""
    empty.add_welder("Anna", "Anna")
    empty.add_welder("kim", "Anna")
    empty.save_machine(Machine("GUN 1", 13, 5), "Anna")
    add_coupons(empty, 3, EARLY, notes="of bay B")
    return empty


def exported(log, way="json_lines"):
    file = io.BytesIO()
    getattr(log, f"export_{way}")(file)
    return file


def bring_in(log, file, by=BY):
    return log.used_by(Trust.OPERATOR).bring_in(LogFile(file), by, NOW)


def tables(log):
    """Return every row of every table of the log's shop."""
    with log._reading() as connection:
        return {
            table.name: connection.execute(select(table).where(table.c.shop_id == log._shop)).all()
            for table in metadata.sorted_tables
            if "shop_id" in table.c
        }


def assert_equal_logs(mine, theirs, brought_in=1):
    """Compare two logs by all they say; the second has a line for each time it got something."""
    one, two = all_reads(mine), all_reads(theirs)
    two["changes"] = two["changes"][brought_in:]
    for what, said in one.items():
        assert two[what] == said, what


@pytest.mark.parametrize("way", ["json_lines", "tables"])
def test_an_empty_shop_gets_an_equal_log(shop, empty, way):
    arrived = bring_in(empty, exported(shop, way))
    assert_equal_logs(shop, empty)
    assert (arrived.known, arrived.renumbered, arrived.notes) == (0, (), ())
    assert {each.kind: each.new for each in arrived.counts}["coupon_revision"] == 8
    assert empty.verify().is_sound
    assert empty.changes(1)[0].what == "log of Bay A brought in"


@settings(max_examples=8, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(whole_logs())
def test_any_log_goes_in_and_comes_out_the_same(sqlite_url, records):
    log = open_log(sqlite_url, f"shop {hash(tuple(map(str, records)))}")
    file = io.BytesIO()
    photos = [each for each in records if not isinstance(each, r.Photo)]
    write_json_lines(file, header_of(photos), photos)
    try:
        bring_in(log, file)
    except InputError as error:
        assert "no lead who works" in str(error)  # noqa: PT017
        return
    before = tables(log)
    assert bring_in(log, exported(log)).new == 0
    assert tables(log) == before
    assert log.verify().is_sound
    assert [c.coupon.notes for c in log.iter_coupons()] == _notes(records)
    log.close()


def _notes(records):
    newest = {each.number: each for each in records if isinstance(each, r.CouponRevision)}
    return [newest[number].coupon.notes for number in sorted(newest)]


@pytest.mark.parametrize("way", ["json_lines", "tables"])
def test_the_same_file_twice_adds_nothing(shop, empty, way):
    bring_in(empty, exported(shop))
    before = tables(empty)
    arrived = bring_in(empty, exported(shop, way))
    assert (arrived.new, arrived.notes, arrived.renumbered) == (0, (), ())
    assert tables(empty) == before
    assert bring_in(shop, exported(empty)).new == 1  # the line that says it was brought in
    assert bring_in(shop, exported(empty)).new == 0


def test_a_later_file_of_the_same_shop_adds_what_is_new(shop, empty):
    bring_in(empty, exported(shop))
    joint = shop.save_joint(Joint("roof", "RO 3", PAIR, "gun 1"), BY)
    shop.save_rules(ShopRules(JudgingRules(SizeRule(4.2))), BY)
    add_coupons(shop, 2, GOOD.made_at + timedelta(days=2), job="RO 3")
    shop.correct_coupon(1, replace(GOOD, notes="put right"), BY, "a note", NOW)
    shop.release(joint, BY, now=THEN)
    shop.close_job("RO 1", BY)
    for clock in shop.running_clocks():
        shop.stop_clock(clock.id, BY)
    arrived = bring_in(empty, exported(shop))
    new = {each.kind: each.new for each in arrived.counts if each.new}
    assert new == {
        "rules": 1,
        "job": 1,
        "joint": 1,
        "coupon_revision": 3,
        "foretold": 1,
        "release": 1,
        "change": 2,
    }
    assert "job RO 1 was closed in the file and is closed now" in arrived.notes
    assert "the newest rules of the file hold here from now on" in arrived.notes
    two = all_reads(empty)
    one = all_reads(shop)
    del one["changes"], two["changes"]
    assert one == two
    assert empty.verify().is_sound


def test_an_older_file_adds_nothing(shop, empty):
    old = exported(shop)
    bring_in(empty, old)
    empty.correct_coupon(3, replace(GOOD, notes="put right"), BY, "a note", NOW)
    before = all_reads(empty)
    assert bring_in(empty, old).new == 0
    assert all_reads(empty) == before


def test_coupons_of_another_shop_get_free_numbers_and_say_where_they_are_from(shop, other):
    mine = list(other.iter_coupons())
    arrived = bring_in(other, exported(shop), "Anna")
    assert [(each.first, each.last, each.here) for each in arrived.renumbered] == [(1, 3, 7)]
    assert str(arrived.renumbered[0]) == "coupons #1 to #3 of the file are #7 to #9 here"
    found = list(other.iter_coupons())
    assert found[:3] == mine
    assert [each.number for each in found] == list(range(1, 10))
    theirs = list(shop.iter_coupons())
    assert [each.coupon for each in found[3:6]] == [each.coupon for each in _spelled(theirs[3:])]
    assert [each.coupon for each in found[6:]] == [each.coupon for each in _spelled(theirs[:3])]
    assert [each.verdict for each in found[6:]] == [each.verdict for each in theirs[:3]]
    assert [each.origin for each in found[6:]] == [f"#{n} of Bay A" for n in (1, 2, 3)]
    assert [each.origin for each in found[3:6]] == ["", "", ""]
    assert other.history(8)[1].logged.origin == "#2 of Bay A"
    assert other.verify().is_sound


def _spelled(logged):
    """Return coupons as the other shop spells their names."""
    names = {"welder": "kim", "machine": "GUN 1"}
    return [replace(each, coupon=replace(each.coupon, **names)) for each in logged]


def test_a_release_points_at_the_same_coupons_under_their_new_numbers(shop, other):
    (before,) = [s for s in shop.joint_states(now=THEN) if s.release]
    bring_in(other, exported(shop), "Anna")
    (after,) = [s for s in other.joint_states(now=THEN) if s.release]
    here = {1: 7, 2: 8, 3: 9, 4: 4}
    evidence = [(here[e.number], e.revision) for e in before.release.evidence]
    assert [(e.number, e.revision) for e in after.release.evidence] == evidence
    assert replace(after.release, evidence=()) == replace(before.release, evidence=())


def test_a_renumbered_coupon_is_known_again_and_gets_its_correction(shop, other):
    bring_in(other, exported(shop), "Anna")
    before = tables(other)
    assert bring_in(other, exported(shop), "Anna").new == 0
    assert tables(other) == before
    shop.void_coupon(1, BY, "wrong sheet", NOW)
    arrived = bring_in(other, exported(shop), "Anna")
    assert {each.kind: each.new for each in arrived.counts if each.new} == {"coupon_revision": 1}
    assert (other.coupon(7).voided, other.coupon(7).origin) == ("wrong sheet", "#1 of Bay A")
    assert other.coupon(1).voided == ""
    assert other.verify().is_sound


def test_numbers_have_no_gap_when_a_known_coupon_has_a_higher_one_in_the_file(shop, other):
    bring_in(other, exported(shop), "Anna")
    add_coupons(shop, 1, GOOD.made_at + timedelta(days=2))
    bring_in(shop, exported(other), "Anna")
    assert [each.number for each in shop.iter_coupons()] == list(range(1, 11))
    assert shop.verify().is_sound
    bring_in(other, exported(shop), "Anna")
    assert [each.number for each in other.iter_coupons()] == list(range(1, 11))
    assert other.verify().is_sound


def test_the_shop_s_own_rules_hold_on_beside_those_of_another(shop, other):
    mine = other.rules()
    arrived = bring_in(other, exported(shop), "Anna")
    assert other.rules() == mine
    assert other.history(7)[0].rules.judging.size.k == 3.5
    assert any("the rules of this shop hold on" in note for note in arrived.notes)


def test_what_has_a_name_here_stays_as_it_is(shop, other):
    arrived = bring_in(other, exported(shop), "Anna")
    assert [(m.name, m.largest_current_kA) for m in other.machines()] == [
        ("GUN 1", 13),
        ("Gun 2", 40),
    ]
    assert "machine GUN 1 differs here from the file; it stays as it is" in arrived.notes
    assert other.welders() == ["Anna", "kim", "Lead", "Robin"]


def test_histories_that_differ_stop_everything(shop, empty):
    bring_in(empty, exported(shop))
    empty.correct_coupon(3, replace(GOOD, notes="one way"), BY, "a note", NOW)
    shop.correct_coupon(3, replace(GOOD, notes="another way"), BY, "a note", NOW)
    add_coupons(shop, 1, GOOD.made_at + timedelta(days=2))
    before = tables(empty)
    with pytest.raises(
        InputError, match=r"line \d+: coupon #3 has another history here .* from re"
    ):
        bring_in(empty, exported(shop))
    assert tables(empty) == before


def test_a_coupon_voided_here_stays_voided(shop, empty):
    bring_in(empty, exported(shop))
    empty.void_coupon(1, BY, "dropped", NOW)
    shop.correct_coupon(1, replace(GOOD, notes="x"), BY, "a note", NOW)
    shop.correct_coupon(1, replace(GOOD, notes="y"), BY, "a note", NOW)
    with pytest.raises(InputError, match=r"coupon #1 has another history here"):
        bring_in(empty, exported(shop))
    other_way = exported(empty)
    shop_before = tables(shop)
    with pytest.raises(InputError, match=r"coupon #1 has another history here"):
        bring_in(shop, other_way)
    assert tables(shop) == shop_before


def test_coupons_alike_to_the_last_word_stay_two(shop, empty):
    moment = GOOD.made_at + timedelta(days=3)
    add_coupons(shop, 1, moment)
    add_coupons(shop, 1, moment)
    shop.void_coupon(8, BY, "the second of two", NOW)
    bring_in(empty, exported(shop))
    assert [empty.coupon(n).voided for n in (7, 8)] == ["", "the second of two"]
    assert bring_in(empty, exported(shop)).new == 0


def test_only_a_lead_brings_a_shop_in(shop, other):
    file = LogFile(exported(shop))
    with pytest.raises(RoleError, match=r"bringing in a file with a whole shop takes a lead; kim"):
        other.bring_in(file, "kim", NOW)
    with pytest.raises(RoleError, match=r"takes a lead"):
        other.try_bringing_in(file, "kim", NOW)
    assert [other.may_bring_in(name) for name in ("Anna", "kim", "", "Nobody")] == [
        True,
        False,
        False,
        False,
    ]
    assert other.bring_in(file, "Anna", NOW).new > 0
    closed = other.used_by(Trust.SIGNED_OUT)
    assert not closed.may_bring_in("Anna")
    with pytest.raises(RoleError, match="nobody is signed in"):
        closed.export_json_lines(io.BytesIO())


def test_anybody_brings_the_first_file_into_an_empty_shop(shop, empty):
    assert empty.may_bring_in("Somebody")
    empty.bring_in(LogFile(exported(shop)), "Somebody", NOW)
    assert not empty.may_bring_in("Somebody")


def test_a_preview_says_the_same_and_stores_nothing(shop, other):
    before = tables(other)
    tried = other.try_bringing_in(LogFile(exported(shop)), "Anna", NOW)
    assert tables(other) == before
    assert other.bring_in(LogFile(exported(shop)), "Anna", NOW) == tried


def test_a_file_that_breaks_at_its_end_leaves_nothing(shop, empty):
    data = exported(shop).getvalue()
    before = tables(empty)
    with pytest.raises(InputError, match=r"the file has \d+ records of the kind change and says"):
        bring_in(empty, io.BytesIO(data[: data.rstrip().rindex(b"\n") + 1]))
    with pytest.raises(InputError, match=r"line \d+: it is no JSON"):
        bring_in(empty, io.BytesIO(data[:-3]))
    assert tables(empty) == before


@pytest.mark.parametrize("mark", ["is_demo", "is_copy"])
def test_what_nobody_welded_stays_out_of_a_real_shop(shop, empty, mark):
    records = [placed.record for placed in LogFile(exported(shop)).records()]
    says = {"invented_demo": mark == "is_demo", "practice_copy": mark == "is_copy"}
    file = io.BytesIO()
    write_json_lines(file, header_of(records, **says), records)
    with pytest.raises(InputError, match=r"must not stand among those of a shop that welds"):
        bring_in(empty, file)
    empty.mark_demo(BY)
    assert bring_in(empty, file).new > 0


def test_a_demo_says_so(empty):
    empty.mark_demo(BY)
    assert LogFile(exported(empty)).header.invented_demo


def test_people_without_a_lead_are_refused(shop, empty):
    records = [placed.record for placed in LogFile(exported(shop)).records()]
    records = [
        replace(each, left_at=NOW) if isinstance(each, r.Person) and each.name == BY else each
        for each in records
    ]
    file = io.BytesIO()
    write_json_lines(file, header_of(records), records)
    with pytest.raises(InputError, match="names people but no lead who works in the shop"):
        bring_in(empty, file)
    assert empty.is_empty()


def test_a_coupon_and_a_clock_from_the_future_are_refused(shop, empty):
    file = LogFile(exported(shop))
    with pytest.raises(InputError, match=r"line \d+: the coupon is dated .* in the future"):
        empty.bring_in(file, BY, GOOD.made_at - timedelta(days=1))
    without = [p.record for p in file.records() if not isinstance(p.record, r.CouponRevision)]
    without = [each for each in without if not isinstance(each, r.JointRelease | r.CouponForetold)]
    data = io.BytesIO()
    write_json_lines(data, header_of(without), without)
    with pytest.raises(InputError, match=r"line \d+: mixed at .* in the future"):
        empty.bring_in(LogFile(data), BY, GOOD.made_at - timedelta(days=300))


def test_an_unreleased_joint_becomes_the_one_that_was_released(shop, empty):
    bring_in(empty, exported(shop))
    (stored,) = [s for s in empty.joints("RO 1") if s.joint.name == "rear"]
    there = next(s for s in shop.joints("RO 1") if s.joint.name == "rear")
    shop.save_joint(replace(there.joint, welds=9), BY, there.id)
    _release(shop, there.id)
    arrived = bring_in(empty, exported(shop))
    assert empty.joint(stored.id).joint.welds == 9
    assert any("is now the one that was released" in note for note in arrived.notes)
    assert empty.verify().is_sound


def test_a_joint_released_here_is_not_taken_for_another(shop, empty):
    bring_in(empty, exported(shop))
    here, there = (
        next(s for s in log.joints("RO 1") if s.joint.name == "rear") for log in (empty, shop)
    )
    _release(empty, here.id, "here")
    shop.save_joint(replace(there.joint, welds=9), BY, there.id)
    _release(shop, there.id)
    before = tables(empty)
    with pytest.raises(InputError, match=r"joint rear of job RO 1 was released here, and in the f"):
        bring_in(empty, exported(shop))
    assert tables(empty) == before


def _release(log, joint_id, note=""):
    """Release the joint with wet adhesive on gun 2."""
    log.fit_caps("gun 2", GOOD.electrode, EARLY, BY)
    add_coupons(log, 2, EARLY + timedelta(days=1), stack=WET, machine="gun 2")
    log.release(joint_id, BY, note, THEN)


def test_a_verdict_that_its_rules_could_not_give_comes_in_without_a_cause(empty):
    """The rule for a whole stack says nothing about four sheets; the file says fail anyway."""
    four = Stack((Sheet(1.2),) * 4)
    results = (InterfaceResult(2.0, 2.0, FailureType.BUTTON),) * 3
    odd = replace(GOOD, stack=four, results=results)
    whole = ShopRules(JudgingRules(SizeRule(governing=GoverningRule.WHOLE_STACK)))
    verdict = Verdict(Outcome.FAIL, (Reason(Outcome.FAIL, "looked at"),))
    records = [
        r.Person(BY, Role.LEAD, None),
        r.Person("Kim", Role.WELDER, None),
        Machine("gun 1", 13.0, 5.0),
        r.RulesVersion(1, whole, BY, THEN),
        r.CouponRevision(1, 1, odd, verdict, 1, "", "", "", "Kim", THEN),
    ]
    file = io.BytesIO()
    write_json_lines(file, header_of(records), records)
    assert bring_in(empty, file).new == len(records)
    assert empty.coupon(1).verdict == verdict
    assert (empty.failures().failed, empty.failures().causes) == (1, {})
    assert bring_in(empty, file).new == 0


def test_a_photo_comes_in_when_its_picture_is_there(shop, empty, tmp_path, monkeypatch):
    for bay in "AB":
        (tmp_path / bay).mkdir()
    monkeypatch.setenv("ADVISOR_DATA_DIR", str(tmp_path / "A"))
    kept = shop.add_photo(1, photo(), BY, THEN)
    data = shop.photo_data(kept.sha256)
    file = exported(shop)
    monkeypatch.setenv("ADVISOR_DATA_DIR", str(tmp_path / "B"))
    arrived = bring_in(empty, file)
    assert empty.photos(1) == []
    assert any(note.startswith("photos left out: 1, their") for note in arrived.notes)
    path = empty.photo_folder() / kept.sha256[:2] / f"{kept.sha256}.jpg"
    path.parent.mkdir(parents=True)
    path.write_bytes(data[:-1])
    assert bring_in(empty, file).new == 0  # the picture is another one
    path.write_bytes(data)
    assert bring_in(empty, file).new == 1
    assert empty.photos(1) == [kept]
    assert bring_in(empty, file).new == 0
    assert empty.verify().is_sound


def test_a_reader_sees_one_moment_while_others_write(shop, empty):
    """Every write of the file logs a coupon more; the file holds together all the same."""

    class Slow(io.BytesIO):
        busy = False

        def write(self, data):
            if not self.busy:
                self.busy = True
                add_coupons(shop, 1, GOOD.made_at - timedelta(days=len(self.getvalue()) % 9))
                self.busy = False
            return super().write(data)

    file = Slow()
    header = shop.export_json_lines(file)
    assert header.coupons == 6
    assert shop.counts()["coupons"] > 10
    bring_in(empty, io.BytesIO(file.getvalue()))
    assert empty.counts()["coupons"] == 5  # one of the six is voided


def test_no_record_is_missed_whatever_the_step(shop, monkeypatch):
    once = exported(shop).getvalue()
    for step in (1, 2, 3):
        monkeypatch.setattr(shelves, "AT_ONCE", step)
        monkeypatch.setattr(exchange, "AT_ONCE", step)
        assert exported(shop).getvalue().split(b"\n")[1:] == once.split(b"\n")[1:]


def test_a_text_may_be_as_long_in_a_file_as_in_its_column():
    tables = {kind.name: shelves.SHELVES[kind.name].table for kind in KINDS[:8]}
    tables |= {kind.name: shelves.SHELVES[kind.name].table for kind in KINDS[9:]}
    tables[REVISIONS.name] = coupon_revision
    compared = 0
    for kind in KINDS:
        for field in kind.fields:
            column = tables[kind.name].c.get(field.name)
            if isinstance(field, Text) and column is not None and isinstance(column.type, String):
                compared += 1
                assert column.type.length in (None, field.longest), (kind.name, field.name)
    assert compared > 20
