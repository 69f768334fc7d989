"""What coupons were welded for: the same by every way into the log, and counted as such."""

import io
import itertools
from collections import Counter
from contextlib import closing
from dataclasses import replace
from datetime import timedelta

import pytest
import sqlalchemy as sa
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from store_examples import BY, FAILING, NOW, PASSING, fill
from strategies import coupons

from advisor.coupons.coupon import InterfaceResult
from advisor.coupons.joint import Joint
from advisor.coupons.purpose import SERIES, Purpose
from advisor.coupons.verdict import causes
from advisor.exchange.log_file import LogFile
from advisor.store import coupon_records
from advisor.store.arriving import file as arriving_file
from advisor.store.base import Trust, is_newest
from advisor.store.log import open_log
from advisor.store.schema import COUNTED, coupon, coupon_revision, tally
from advisor.store.tally import changes
from advisor.weld.setting import Setting
from advisor.weld.sheet import Sheet
from advisor.weld.stack import Stack

FIRST, SET_UP, RELEASE = Purpose.FIRST, Purpose.SET_UP, Purpose.RELEASE
HIGHER = replace(PASSING.setting, current_kA=10.0)
OPEN = replace(PASSING, results=(InterfaceResult(),))
OTHERS = {
    "machine": {"machine": "gun 2"},
    "job": {"job": "RO 1"},
    "stack": {"stack": Stack((Sheet(1.2), Sheet(1.6)))},
}
NUMBERS = itertools.count()


def at(hours, like=PASSING, **changes):
    return replace(like, made_at=PASSING.made_at + timedelta(hours=hours), **changes)


def purposes(log):
    """Return purpose and causes of the coupons that count, by their numbers."""
    r = coupon_revision.c
    query = sa.select(coupon.c.number, r.purpose, r.causes).join(coupon, coupon.c.id == r.coupon_id)
    query = query.where(r.shop_id == log._shop, r.voided == "", is_newest())
    with log._reading() as connection:
        return {n: (Purpose(why), words) for n, why, words in connection.execute(query)}


def kinds(log):
    """Return the purposes in the order of the numbers of the coupons that count."""
    return [why for _, (why, _) in sorted(purposes(log).items())]


def add_quickly(log, made):
    for each in made:
        log.add_coupon(each, "Kim", NOW)


def import_at_once(log, made):
    log.import_coupons(made, "Kim", NOW)


def import_one_by_one(log, made):
    for each in made:
        log.import_coupons([each], "Kim", NOW)


WAYS = pytest.mark.parametrize("enter", [add_quickly, import_at_once, import_one_by_one])


@WAYS
def test_a_series_by_hand(log, enter):
    low = replace(FAILING, setting=replace(PASSING.setting, current_kA=8.0))
    made = [
        at(0, low),
        at(1, low),
        at(2, PASSING),
        at(3, PASSING),
        at(4, PASSING, setting=replace(PASSING.setting, current_kA=9.54)),
        at(5, PASSING, setting=HIGHER),
        at(6, OPEN, setting=HIGHER),
        at(7, low),
    ]
    enter(log, made)
    assert kinds(log) == [FIRST, SET_UP, SET_UP, RELEASE, RELEASE, SET_UP, RELEASE, SET_UP]
    counted = log.pass_counts("purpose").to_numpy().tolist()
    assert counted == [
        ["first attempt", 0, 1, 0],
        ["release coupon", 2, 0, 1],
        ["set-up coupon", 2, 2, 0],
    ]


@WAYS
@pytest.mark.parametrize("changes", OTHERS.values(), ids=OTHERS)
def test_another_machine_job_or_stack_is_another_series(log, enter, changes):
    enter(log, [at(0), at(1, **changes), at(2, **changes), at(3)])
    assert kinds(log) == [FIRST, FIRST, RELEASE, RELEASE]


@WAYS
def test_another_welder_face_and_way_up_are_of_the_same_series(log, enter):
    turned = at(1).turned_over()
    enter(log, [at(0), replace(turned, welder="Robin, junior", job="")])
    assert kinds(log) == [FIRST, RELEASE]


@WAYS
def test_a_job_is_one_whatever_its_case(log, enter):
    log.save_joint(Joint("sill", "RO 1", PASSING.stack, "gun 1"), BY)
    enter(log, [at(0, job="RO 1"), at(1, job="ro 1")])
    assert kinds(log) == [FIRST, RELEASE]


@WAYS
def test_thirty_days_to_the_microsecond(log, enter):
    edge, job = PASSING.made_at + SERIES, {"job": "RO 2"}
    made = [at(0), at(0, **job), replace(PASSING, made_at=edge)]
    made.append(replace(PASSING, made_at=edge + timedelta(microseconds=1), **job))
    enter(log, made)
    assert kinds(log) == [FIRST, FIRST, RELEASE, FIRST]


@WAYS
def test_coupons_of_one_moment_are_not_before_each_other(log, enter):
    enter(log, [at(0), at(0, notes="second"), at(1)])
    assert kinds(log) == [FIRST, FIRST, RELEASE]


@WAYS
def test_a_voided_coupon_is_not_before_another(log, enter):
    enter(log, [at(0)])
    log.void_coupon(1, BY, "wrong sheet", NOW)
    enter(log, [at(1)])
    assert kinds(log) == [FIRST]


@WAYS
def test_a_corrected_coupon_is_before_another_as_it_was_corrected(log, enter):
    enter(log, [at(0), at(0, job="RO 1"), at(0, job="RO 2")])
    log.correct_coupon(1, at(0, FAILING), BY, "misread", NOW)
    log.correct_coupon(2, at(0, job="RO 3"), BY, "another job", NOW)
    log.correct_coupon(3, at(9, job="RO 2"), BY, "another hour", NOW)
    enter(log, [at(1), at(1, job="RO 1"), at(1, job="RO 2"), at(1, job="RO 3")])
    assert kinds(log)[3:] == [SET_UP, FIRST, FIRST, RELEASE]


def test_a_purpose_stays_when_an_earlier_coupon_changes_and_is_told_anew_with_a_correction(log):
    add_quickly(log, [at(0), at(1)])
    log.void_coupon(1, BY, "wrong sheet", NOW)
    assert kinds(log) == [RELEASE]
    log.correct_coupon(2, at(1, notes="smoky"), BY, "a note", NOW)
    assert kinds(log) == [FIRST]


def test_a_correction_does_not_come_after_itself(log):
    add_quickly(log, [at(0)])
    log.correct_coupon(1, at(5), BY, "another hour", NOW)
    log.correct_coupon(1, at(6, FAILING), BY, "another hour", NOW)
    assert kinds(log) == [FIRST]


def test_a_voided_coupon_takes_back_what_it_was_counted_as(log):
    add_quickly(log, [at(0), at(1, FAILING)])
    log.void_coupon(2, BY, "wrong sheet", NOW)
    assert log.pass_counts("purpose").to_numpy().tolist() == [["first attempt", 1, 0, 0]]
    assert log.failures().failed == 0


def test_two_batches_of_an_import_are_one_series(log, monkeypatch):
    monkeypatch.setattr(coupon_records, "_AT_ONCE", 2)
    import_at_once(log, [at(n, setting=HIGHER if n % 2 else PASSING.setting) for n in range(5)])
    assert kinds(log) == [FIRST, SET_UP, RELEASE, RELEASE, RELEASE]


def test_the_longer_way_of_one_coupon_says_the_same(log):
    """The first coupon of a stack and of a shop without rules takes it; then the quick one."""
    log.add_coupon(at(0), "Kim", NOW)
    log.add_coupon(at(1, **OTHERS["stack"]), "Kim", NOW)
    log.add_coupon(at(2), "Kim", NOW)
    log.add_coupon(at(3, **OTHERS["stack"]), "Kim", NOW)
    assert kinds(log) == [FIRST, FIRST, RELEASE, RELEASE]


# --- many at random -----------------------------------------------------------------------------

SETTINGS = [Setting(current, 200, 3.0) for current in (9.0, 9.04, 9.1, 9.5)]


def series():
    """Draw coupons of few series that lie about as far apart as a series is long."""
    made = st.builds(
        lambda base, days, minutes, setting, gun, job: replace(
            base,
            made_at=PASSING.made_at - timedelta(days=days, minutes=minutes),
            setting=setting,
            machine=gun,
            job=job,
        ),
        st.sampled_from((PASSING, FAILING, OPEN)),
        st.sampled_from((0, 1, 15, 29, 30, 31, 60)),
        st.integers(0, 2),
        st.sampled_from(SETTINGS),
        st.sampled_from(("gun 1", "gun 2")),
        st.sampled_from(("", "RO 1")),
    )
    return st.lists(made, min_size=1, max_size=9, unique=True)


def by_hand(made):
    """Say what each coupon was for, from all of them."""
    found = []
    for each in made:
        before = [
            other
            for other in made
            if (other.machine, other.stack.canonical(), other.job)
            == (each.machine, each.stack.canonical(), each.job)
            and timedelta(0) < each.made_at - other.made_at <= timedelta(days=30)
        ]
        proven = any(
            other.results == PASSING.results and other.setting.same_as(each.setting)
            for other in before
        )
        found.append(RELEASE if proven else SET_UP if before else FIRST)
    return found


def new_log(url):
    return fill(open_log(url, f"shop {next(NUMBERS)}"))


def in_and_out(log, url):
    """Return the same log, brought into an empty shop."""
    file = io.BytesIO()
    log.export_json_lines(file)
    again = open_log(url, f"shop {next(NUMBERS)}").used_by(Trust.OPERATOR)
    again.bring_in(LogFile(file), BY, NOW + timedelta(hours=1))
    return again


@settings(max_examples=8, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(series(), st.randoms(use_true_random=False))
def test_every_way_says_what_a_look_by_hand_says(url, made, rng):
    shuffled = rng.sample(made, len(made))
    with closing(new_log(url)) as quick, closing(new_log(url)) as imported:
        add_quickly(quick, sorted(made, key=lambda each: each.made_at))
        import_at_once(imported, shuffled)
        for log in (quick, imported):
            mine = [each.coupon for each in log.iter_coupons()]
            assert kinds(log) == by_hand(mine)
            with closing(in_and_out(log, url)) as again:
                assert purposes(again) == purposes(log)


def test_a_file_in_many_parts_says_the_same(log, url, monkeypatch):
    made = [at(n, setting=SETTINGS[n % 4], job=f"RO {n % 2}") for n in range(9)]
    add_quickly(log, made)
    monkeypatch.setattr(arriving_file, "_AT_ONCE", 2)
    with closing(in_and_out(log, url)) as again:
        assert purposes(again) == purposes(log)


def test_a_file_with_a_void_and_a_correction_says_the_same_as_the_log(log, url):
    add_quickly(log, [at(0), at(0, job="RO 1")])
    log.void_coupon(1, BY, "wrong sheet", NOW)
    log.correct_coupon(2, at(0, FAILING, job="RO 1"), BY, "misread", NOW)
    add_quickly(log, [at(1), at(1, job="RO 1")])
    assert kinds(log) == [FIRST, FIRST, SET_UP]
    with closing(in_and_out(log, url)) as again:
        assert purposes(again) == purposes(log)
        assert counted(again) == counted(log)


def test_a_file_is_read_in_the_order_in_which_it_was_written_down(log, url):
    """What was voided, or entered late, after a coupon was written does not change that one."""

    def write(hours, after_min):
        log.add_coupon(at(hours), "Kim", NOW + timedelta(minutes=after_min))

    write(1, 0)
    write(2, 1)
    write(0, 2)
    log.void_coupon(1, BY, "wrong sheet", NOW + timedelta(minutes=3))
    log.correct_coupon(3, at(0, FAILING), BY, "misread", NOW + timedelta(minutes=4))
    write(3, 5)
    assert kinds(log) == [RELEASE, FIRST, RELEASE]
    log.void_coupon(2, BY, "wrong sheet", NOW + timedelta(minutes=6))
    write(4, 7)
    write(0.5, 8)
    wanted = [FIRST, RELEASE, RELEASE, SET_UP]
    assert kinds(log) == wanted
    with closing(in_and_out(log, url)) as again:
        assert purposes(again) == purposes(log)
        assert counted(again) == counted(log)


def test_an_import_stays_one_in_a_file_whatever_its_order(log, url):
    import_at_once(log, [at(3), at(2, FAILING), at(1), at(0)])
    assert kinds(log) == [RELEASE, RELEASE, RELEASE, FIRST]
    with closing(in_and_out(log, url)) as again:
        assert purposes(again) == purposes(log)


@settings(max_examples=10, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(series(), st.randoms(use_true_random=False), st.sampled_from((1, 3, 1000)))
def test_a_file_tells_every_purpose_as_it_was_told_when_it_was_written(url, made, rng, at_once):
    """Coupons logged in any order, with voids and corrections in between, moment by moment."""
    with closing(new_log(url)) as log, pytest.MonkeyPatch.context() as patch:
        patch.setattr(arriving_file, "_AT_ONCE", at_once)
        _write_at_random(log, made, rng)
        with closing(in_and_out(log, url)) as again:
            assert purposes(again) == purposes(log)
            assert counted(again) == counted(log)
            assert kept(again) == fresh(again)


def _write_at_random(log, made, rng):
    moments = (NOW - timedelta(hours=9) + timedelta(minutes=n) for n in itertools.count())
    standing = []
    for each in rng.sample(made, len(made)):
        standing.append(log.add_coupon(each, "Kim", next(moments)).number)
        number, doing = rng.choice(standing), rng.random()
        if doing < 0.3:
            log.void_coupon(number, BY, "wrong sheet", next(moments))
            standing.remove(number)
        elif doing < 0.6:
            log.correct_coupon(number, rng.choice(made), BY, "misread", next(moments))


def test_a_later_file_says_the_same_of_what_is_new(log, url):
    add_quickly(log, [at(0), at(1)])
    with closing(in_and_out(log, url)) as again:
        log.void_coupon(1, BY, "wrong sheet", NOW)
        log.correct_coupon(2, at(1, FAILING), BY, "misread", NOW)
        add_quickly(log, [at(2), at(3)])
        file = io.BytesIO()
        log.export_json_lines(file)
        again.bring_in(LogFile(file), BY, NOW)
        assert purposes(again) == purposes(log)
        assert counted(again) == counted(log)
        assert kinds(log) == [FIRST, SET_UP, RELEASE]


# --- what is counted ----------------------------------------------------------------------------


def counted(log):
    """Return the counts that pages show, empty ones left out, by names in place of ids."""
    with log._reading() as connection:
        query = sa.select(tally).where(tally.c.shop_id == log._shop)
        found = connection.execute(query).mappings().all()
        names = {
            name: dict(
                connection.execute(
                    sa.select(table.c.id, table.c[label]).where(table.c.shop_id == log._shop)
                ).all()
            )
            for name, table, label in _NAMES
        }
    return {
        (row["span"], row["starts"], *(names[n][row[n]] for n in names), row["purpose"]): tuple(
            row[name] for name in COUNTED
        )
        for row in found
        if any(row[name] for name in COUNTED)
    }


_TABLES = tally.metadata.tables
_NAMES = [
    ("welder_id", _TABLES["welder"], "name"),
    ("machine_id", _TABLES["machine"], "name"),
    ("stack_id", _TABLES["stack"], "fingerprint"),
]


def fresh(log):
    """Count all revisions that hold now once more, rows by their key."""
    r = coupon_revision
    query = sa.select(r).where(r.c.shop_id == log._shop, is_newest())
    with log._reading() as connection:
        rows = connection.execute(query).mappings().all()
    keys = ("span", "starts", "welder_id", "machine_id", "stack_id", "purpose")
    return {
        tuple(row[key] for key in keys): tuple(row[name] for name in COUNTED)
        for row in changes(rows)
    }


def kept(log):
    keys = ("span", "starts", "welder_id", "machine_id", "stack_id", "purpose")
    with log._reading() as connection:
        query = sa.select(tally).where(tally.c.shop_id == log._shop)
        found = connection.execute(query).mappings().all()
    return {
        tuple(row[key] for key in keys): amounts
        for row in found
        if any(amounts := tuple(row[name] for name in COUNTED))
    }


@settings(max_examples=8, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(coupons(), min_size=1, max_size=8), st.randoms(use_true_random=False))
def test_after_corrections_and_voids_the_counts_are_those_of_a_fresh_count(url, made, rng):
    with closing(new_log(url)) as log:
        log.import_coupons(made, "Kim", NOW)
        add_quickly(log, made[:3])
        last = log.counts()["coupons"]
        for _ in range(4):
            number = rng.randint(1, last)
            if log.coupon(number).voided:
                continue
            if rng.random() < 0.4:
                log.void_coupon(number, BY, "wrong sheet", NOW)
            else:
                log.correct_coupon(number, rng.choice(made), BY, "misread", NOW)
        assert kept(log) == fresh(log)
        _compare_causes(log)


def _compare_causes(log):
    rules = log.rules().judging
    counting = [each for each in log.iter_coupons() if not each.voided]
    found = Counter(why.label for each in counting for why in causes(each.coupon, rules))
    failures = log.failures()
    assert failures.causes == found
    outcomes = Counter(each.verdict.outcome.value for each in counting)
    assert (failures.failed, failures.judged) == (
        outcomes["fail"],
        outcomes["fail"] + outcomes["pass"],
    )
    assert failures.expelled == sum(each.coupon.expulsion for each in counting)
