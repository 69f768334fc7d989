"""Roles, PINs and visits: who comes in, who does not, and what the database gives away."""

import hashlib
import json
import re
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from itertools import count

import pytest
from argon2 import PasswordHasher
from sqlalchemy import select, update
from store_examples import BY, NOW

from advisor.errors import InputError, RecordError, RoleError
from advisor.people import pin as pins
from advisor.people.pin import MOST_WRONG
from advisor.people.roles import Role
from advisor.store.base import Trust
from advisor.store.log import open_log
from advisor.store.people import VISIT_HOURS, Person
from advisor.store.schema import access, change_log, visit, welder

PIN, OTHER, WRONG = "482913", "739205", "550713"
NO_FIT = "this name and PIN do not fit together"
AS_SHIPPED = pins._HASHER


@pytest.fixture
def door(log):
    """The log as somebody sees it who is not signed in; Kim and the lead have a PIN."""
    log.set_pin("Kim", PIN, BY)
    log.set_pin(BY, OTHER, BY)
    return log.used_by(Trust.SIGNED_OUT)


def person(log, name="Kim"):
    return next(each for each in log.people() if each.name == name)


def refusal(door, name, pin, now=NOW):
    with pytest.raises(RoleError, match=r"PIN") as said:
        door.sign_in(name, pin, now)
    return str(said.value)


def lock(door, name="Kim"):
    for n in range(MOST_WRONG):
        assert NO_FIT in refusal(door, name, WRONG, NOW + timedelta(minutes=n))


def touch(log, **values):
    """Change Kim's access behind the log's back."""
    with log._writer.begin() as connection:
        kim = select(welder.c.id).where(welder.c.name == "Kim").scalar_subquery()
        connection.execute(update(access).where(access.c.welder_id == kim).values(**values))


def everything_stored(log):
    """Return every value of the tables that have to do with people, as one text."""
    with log._reading() as connection:
        tables = (access, visit, change_log)
        return repr([connection.execute(select(table)).all() for table in tables])


def test_people_are_listed_with_what_they_are(door, log):
    log.add_welder("Tara", BY, Role.TRAINER)
    log.set_email("Tara", " Tara@Shop.Example ", BY)
    assert person(log) == Person("Kim", Role.WELDER, True, False, False, "")
    assert person(log, BY) == Person(BY, Role.LEAD, True, False, False, "")
    tara = Person("Tara", Role.TRAINER, False, False, False, "tara@shop.example")
    assert person(log, "Tara") == tara


def test_name_and_pin_begin_a_visit(door):
    token = door.sign_in("  kIM ", PIN, NOW)
    assert re.fullmatch("[0-9a-f]{64}", token)
    assert door.visitor(token, NOW).name == "Kim"
    assert door.sign_in("Kim", PIN, NOW) != token


def test_a_visit_ends_by_itself(door):
    token = door.sign_in("Kim", PIN, NOW)
    end = NOW + timedelta(hours=VISIT_HOURS)
    assert door.visitor(token, end - timedelta(seconds=1)).name == "Kim"
    assert door.visitor(token, end) is None


def test_signing_out_ends_one_visit_and_no_other(door):
    here, there = door.sign_in("Kim", PIN, NOW), door.sign_in("Kim", PIN, NOW)
    door.sign_out(here)
    door.sign_out("no token at all")
    assert door.visitor(here, NOW) is None
    assert door.visitor(there, NOW).name == "Kim"


@pytest.mark.parametrize("token", ["", "0" * 64, "\0", "\ud800", "é" * 9999])
def test_what_is_no_token_is_nobodys(door, token):
    assert door.visitor(token) is None


def test_a_new_pin_ends_the_visits_of_its_person_only(door, log):
    kim, lead = door.sign_in("Kim", PIN, NOW), door.sign_in(BY, OTHER, NOW)
    log.set_pin("Kim", "640281", "Kim")
    assert door.visitor(kim, NOW) is None
    assert door.visitor(lead, NOW).role is Role.LEAD
    assert NO_FIT in refusal(door, "Kim", PIN)
    assert door.visitor(door.sign_in("Kim", "640281", NOW), NOW).name == "Kim"


def test_every_wrong_way_in_gets_the_same_sentence(door, log):
    log.set_pin("Robin, junior", PIN, BY)
    log.leave("Robin, junior", BY)
    ways = [
        ("Nobody", PIN),
        ("Kim", WRONG),
        ("Kim", ""),
        ("Robin, junior", PIN),  # has left
        ('Alex "Sandy" Müller', PIN),  # has no PIN
        ("\0", PIN),
        ("\ud800" * 999, PIN),
    ]
    assert {refusal(door, *way) for way in ways} == {pins.NO_FIT}


@pytest.mark.parametrize("name", ["Kim", 'Alex "Sandy" Müller', "Nobody"])
def test_wrong_tries_wait_longer_and_longer_and_end_locked(door, name):
    now, waits = NOW, []
    for n in range(1, MOST_WRONG + 1):
        assert NO_FIT in refusal(door, name, WRONG, now)
        said = refusal(door, name, WRONG, now) if n in range(3, MOST_WRONG) else ""
        wait = re.fullmatch(rf"{n} wrong PINs in a row; try again in (\d+) s", said)
        waits.append(int(wait[1]) if wait else 0)
        now += timedelta(seconds=waits[-1])
    assert waits == [0, 0, 2, 4, 8, 16, 32, 0]
    assert refusal(door, name, PIN, now + timedelta(days=9)) == pins.LOCKED


def test_a_right_pin_in_the_wait_is_not_looked_at(door):
    for _ in range(3):
        refusal(door, "Kim", WRONG)
    assert "try again in 2 s" in refusal(door, "Kim", PIN)
    assert door.sign_in("Kim", PIN, NOW + timedelta(seconds=2))


def test_a_right_pin_takes_the_wrong_tries_back(door):
    for _ in range(3):
        refusal(door, "Kim", WRONG)
        refusal(door, "Kim", WRONG)
        assert door.sign_in("Kim", PIN, NOW)


def test_a_locked_name_is_signed_out_and_says_so_until_it_is_unlocked(door, log):
    token = door.sign_in("Kim", PIN, NOW)
    lock(door)
    assert door.visitor(token, NOW) is None
    assert person(log).is_locked
    assert log.changes(1)[0].what == "Kim locked after 8 wrong PINs in a row"
    assert door.sign_in(BY, OTHER, NOW)  # nobody else is
    with pytest.raises(RoleError, match="Kim is a welder: ask a lead"):
        log.unlock("Kim", "Kim")
    log.unlock("Kim", BY)
    assert not person(log).is_locked
    assert door.visitor(token, NOW) is None
    assert door.sign_in("Kim", PIN, NOW)


def test_a_pin_of_ones_own_unlocks_nothing_and_one_from_a_lead_does(door, log):
    lock(door)
    log.set_pin("Kim", "640281", "Kim")
    assert refusal(door, "Kim", "640281") == pins.LOCKED
    log.set_pin("Kim", "640281", BY)
    assert door.sign_in("Kim", "640281", NOW)


@pytest.fixture
def meanwhile(monkeypatch):
    """Let something happen while a PIN is looked at."""

    def happens(what):
        def slow(kept, pin, fits=pins.fits):
            monkeypatch.setattr(pins, "fits", fits)
            what()
            return fits(kept, pin)

        monkeypatch.setattr(pins, "fits", slow)

    return happens


@pytest.mark.parametrize(
    "change",
    [
        lambda log: log.leave("Kim", BY),
        lambda log: log.set_pin("Kim", "640281", BY),
        lambda log: touch(log, locked_at=NOW),
    ],
    ids=["left", "new PIN", "locked"],
)
def test_what_happened_while_a_right_pin_was_looked_at_counts(door, log, meanwhile, change):
    meanwhile(lambda: change(log))
    assert refusal(door, "Kim", PIN) == pins.NO_FIT


def test_a_name_that_is_unlocked_while_its_last_try_is_looked_at_stays_so(door, log, meanwhile):
    touch(log, wrong_tries=MOST_WRONG - 1, tried_at=NOW)
    meanwhile(lambda: log.unlock("Kim", BY))
    refusal(door, "Kim", WRONG, NOW + timedelta(minutes=1))
    assert not person(log).is_locked


@pytest.mark.parametrize("ends", [{"left_at": NOW}, {"locked_at": NOW}])
def test_a_visit_of_somebody_locked_or_gone_counts_for_nothing_even_if_it_runs(door, log, ends):
    token = door.sign_in("Kim", PIN, NOW)
    touch(log, **ends)
    assert door.visitor(token, NOW) is None


@pytest.fixture
def looked_at(monkeypatch):
    """How often a PIN was compared with something kept, and with nothing."""
    seen, fits = Counter(), pins.fits

    def counted(kept, pin):
        seen["kept" if kept else "nothing"] += 1
        return fits(kept, pin)

    monkeypatch.setattr(pins, "fits", counted)
    return seen


def at_once(door, moments, name="Kim"):
    """Try a wrong PIN from 20 threads at once; what each was told."""
    with ThreadPoolExecutor(20) as threads:
        return list(threads.map(lambda now: refusal(door, name, WRONG, now), moments))


@pytest.mark.parametrize(("name", "kind"), [("Kim", "kept"), ("Nobody", "nothing")])
def test_twenty_tries_in_one_moment_get_three_looks(door, looked_at, name, kind):
    said = Counter(at_once(door, [NOW] * 20, name))
    assert said == {pins.NO_FIT: 3, "3 wrong PINs in a row; try again in 2 s": 17}
    assert looked_at == {kind: 3}


@pytest.mark.parametrize(("name", "kind"), [("Kim", "kept"), ("Nobody", "nothing")])
def test_twenty_tries_at_once_never_get_more_looks_than_are_allowed(
    door, log, looked_at, name, kind
):
    later = count()  # as if each thread had waited; who comes first does not matter
    moments = [NOW + timedelta(minutes=10 * next(later)) for _ in range(20)]
    said = Counter(at_once(door, moments, name))
    assert looked_at == {kind: MOST_WRONG}
    assert said == {pins.NO_FIT: MOST_WRONG, pins.LOCKED: 20 - MOST_WRONG}
    assert person(log).is_locked is (name == "Kim")


def test_two_leads_who_demote_each_other_at_once_leave_one(log):
    log.set_role("Kim", Role.LEAD, BY)

    def demote(pair):
        try:
            log.set_role(pair[0], Role.WELDER, pair[1])
        except (RecordError, RoleError):
            return False
        return True

    with ThreadPoolExecutor(2) as threads:
        done = list(threads.map(demote, [("Kim", BY), (BY, "Kim")]))
    assert sorted(done) == [False, True]
    assert [each.role for each in log.people()].count(Role.LEAD) == 1


def test_the_only_lead_stays(log):
    with pytest.raises(RecordError, match="Lead is the shop's only lead; make somebody else"):
        log.set_role(BY, Role.WELDER, BY)
    with pytest.raises(RecordError, match="only lead"):
        log.leave(BY, BY)
    log.set_role("Kim", Role.LEAD, BY)
    log.leave(BY, "Kim")
    with pytest.raises(RecordError, match="Kim is the shop's only lead"):
        log.set_role("Kim", Role.TRAINER, "Kim")


def test_who_leaves_is_out_at_once_and_needs_a_new_pin_to_come_back(door, log):
    token = door.sign_in("Kim", PIN, NOW)
    log.leave("Kim", BY)
    assert door.visitor(token, NOW) is None
    assert person(log) == Person("Kim", Role.WELDER, False, False, True, "")
    assert "Kim" not in log.welders()
    with pytest.raises(RecordError, match="Kim has left the shop"):
        log.set_pin("Kim", PIN, BY)
    with pytest.raises(RoleError, match="Kim has left the shop"):
        log.set_pin("Kim", PIN, "Kim")
    log.come_back("Kim", BY)
    assert NO_FIT in refusal(door, "Kim", PIN)
    log.set_pin("Kim", OTHER, BY)
    assert door.visitor(door.sign_in("Kim", OTHER, NOW), NOW).name == "Kim"


def test_a_leave_keeps_its_first_day(log):
    log.leave("Kim", BY)
    newest = log.changes(1)[0]
    log.leave("Kim", BY)
    assert log.changes(1)[0].id == newest.id


def test_an_address_finds_its_person(log):
    log.set_email("Kim", " Kim@Shop.Example ", BY)
    door = log.used_by(Trust.SIGNED_OUT)
    assert door.person_with_email("KIM@shop.example").name == "Kim"
    assert door.person_with_email("") is None
    assert door.person_with_email("lead@shop.example") is None
    assert door.person_with_email("\0") is None
    lock(door)
    assert door.person_with_email("kim@shop.example").is_locked
    log.leave("Kim", BY)
    assert door.person_with_email("kim@shop.example") is None
    log.set_email("Kim", "", BY)
    assert person(log).email == ""


def test_an_address_belongs_to_one_person(log):
    log.set_email("Kim", "kim@shop.example", BY)
    log.set_email("Kim", "kim@shop.example", BY)
    with pytest.raises(InputError, match=r"kim@shop\.example is the address of Kim already"):
        log.set_email(BY, "KIM@shop.example", BY)


@pytest.mark.parametrize("bad", ["kim", "@shop", "kim@", "a@b@c", "kim at@shop", f"k@{'s' * 200}"])
def test_what_is_no_address_is_refused(log, bad):
    with pytest.raises(InputError, match=r"is no e-mail address|at most 200 are kept"):
        log.set_email("Kim", bad, BY)


def test_nobody_else_is_reached_before_a_lead_can_sign_in(log):
    door = log.used_by(Trust.SIGNED_OUT)
    log.set_pin("Kim", PIN, BY)
    with pytest.raises(RoleError, match=r"no lead has a PIN yet.*python -m advisor pin NAME"):
        door.check_may_listen()
    log.set_role("Kim", Role.LEAD, BY)
    door.check_may_listen()
    log.leave("Kim", BY)
    with pytest.raises(RoleError, match="no lead has a PIN yet"):
        door.check_may_listen()


def test_an_unknown_name_is_named(log):
    with pytest.raises(RecordError, match="no welder is called 'Nobody'"):
        log.set_pin("Nobody", PIN, BY)


def test_a_bad_pin_changes_nothing(door, log):
    with pytest.raises(InputError, match="runs up or down"):
        log.set_pin("Kim", "123456", BY)
    assert door.sign_in("Kim", PIN, NOW)


def test_every_change_is_in_the_change_log_and_its_seals_fit(door, log):
    log.set_role("Kim", Role.LEAD, BY)
    lock(door)
    log.unlock("Kim", BY)
    log.set_email("Kim", "kim@shop.example", BY)
    log.leave("Kim", BY)
    log.come_back("Kim", BY)
    said = [(change.who, change.what) for change in log.changes(7)]
    assert said == [
        (BY, "Kim came back"),
        (BY, "Kim left"),
        (BY, "address of Kim changed"),
        (BY, "Kim unlocked"),
        ("sign-in", "Kim locked after 8 wrong PINs in a row"),
        (BY, "role of Kim changed"),
        (BY, "PIN of Lead set"),
    ]
    role = log.changes(6)[-1]
    assert (json.loads(role.before), json.loads(role.after)) == (
        {"role": "welder"},
        {"role": "lead"},
    )


def test_the_database_holds_no_pin_and_no_token(door, log, monkeypatch):
    monkeypatch.setattr(pins, "_HASHER", AS_SHIPPED)
    log.set_pin("Kim", PIN, BY)
    log.set_pin(BY, OTHER, BY)
    token = door.sign_in("Kim", PIN, NOW)
    refusal(door, "Kim", WRONG)
    lock(door, "Nobody")
    stored = everything_stored(log)
    assert not any(secret in stored for secret in (PIN, OTHER, WRONG, token))
    with log._reading() as connection:
        changes = repr(connection.execute(select(change_log)).all())
        kept = connection.execute(select(access.c.pin)).scalars().all()
    assert "argon2" not in changes
    argon2id = [each for each in kept if each is not None]
    assert len(argon2id) == 2
    assert all(each.startswith("$argon2id$v=19$m=65536,t=3,p=4$") for each in argon2id)


def test_a_stolen_row_of_a_visit_is_no_token(door, log):
    token = door.sign_in("Kim", PIN, NOW)
    with log._reading() as connection:
        (stolen,) = connection.execute(select(visit.c.token_hash)).scalars()
    assert stolen == hashlib.sha256(token.encode()).hexdigest()
    assert door.visitor(stolen, NOW) is None


def test_an_old_hash_is_renewed_when_its_person_signs_in(door, log):
    old = PasswordHasher(time_cost=1, memory_cost=16, parallelism=1).hash(PIN)
    with log._writer.begin() as connection:
        connection.execute(update(access).where(access.c.pin.is_not(None)).values(pin=old))
    door.sign_in("Kim", PIN, NOW)
    with log._reading() as connection:
        kept = set(connection.execute(select(access.c.pin)).scalars()) - {None}
    assert old in kept  # the lead's, who has not signed in
    assert [pins.needs_rehash(each) for each in kept - {old}] == [False]


def test_another_shop_of_the_database_is_another_door(url, log, door):
    token = door.sign_in("Kim", PIN, NOW)
    other = open_log(url, "Other shop")
    try:
        assert other.visitor(token, NOW) is None
        assert NO_FIT in refusal(other, "Kim", PIN)
        assert other.people() == []
    finally:
        other.close()
