"""What the lead's page asks: counts by time and cause, pairs, drift, and what was foretold."""

import io
import itertools
import zipfile
from collections import Counter
from contextlib import closing
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError
from store_examples import BY, FAILING, NOW, PASSING, fill
from strategies import MACHINES, WELDERS, coupons

from advisor.coupons.coupon import InterfaceResult
from advisor.coupons.foretold import Foretold
from advisor.coupons.purpose import Purpose
from advisor.coupons.verdict import causes
from advisor.errors import InputError, RecordError
from advisor.exchange.log_file import LogFile
from advisor.review.foretold import reliability_from_bins, sums_of
from advisor.store import predictions, reviewing
from advisor.store.base import Trust, is_newest
from advisor.store.log import open_log
from advisor.store.reviewing import NEWEST, STABLE, Failures, Which
from advisor.store.schema import coupon, coupon_revision
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.failure import FailureType
from advisor.weld.family import stack_family
from advisor.weld.sheet import Sheet
from advisor.weld.stack import Stack

DAY, HOUR = timedelta(days=1), timedelta(hours=1)
OPEN = replace(PASSING, results=(InterfaceResult(),))
KEYS = {
    "welder": lambda c: c.welder,
    "machine": lambda c: c.machine,
    "adhesive_state": lambda c: c.stack.adhesive_state.value,
    "stack": lambda c: c.stack.canonical().title(),
    "family": lambda c: stack_family(c.stack),
}
NUMBERS = itertools.count()
VERDICTS = ("pass", "fail", "open")


def frame(log):
    """Return every coupon that counts as a row, read one by one."""
    r = coupon_revision.c
    query = coupon_revision.join(coupon, coupon.c.id == r.coupon_id).select()
    with log._reading() as connection:
        found = connection.execute(query.where(r.shop_id == log._shop, is_newest())).mappings()
        purposes = {row["number"]: Purpose(row["purpose"]) for row in found}
    counting = [each for each in log.iter_coupons() if not each.voided]
    rules = log.rules().judging
    names = ["number", "day", "outcome", "purpose", "expelled", "causes", *KEYS]
    return pd.DataFrame(
        [
            (
                each.number,
                each.coupon.made_at.astimezone(UTC).date(),
                each.verdict.outcome.value,
                purposes[each.number].label,
                each.coupon.expulsion,
                [why.label for why in causes(each.coupon, rules)],
                *(key(each.coupon) for key in KEYS.values()),
            )
            for each in counting
        ],
        columns=names,
    )


def chosen(table, which):
    """Return the rows that are asked for."""
    wanted = pd.Series(data=True, index=table.index)
    for column, value in (
        ("machine", which.machine),
        ("welder", which.welder),
        ("purpose", which.purpose and which.purpose.label),
    ):
        wanted &= table[column].eq(value) if value else True
    wanted &= table["day"].ge(which.since) if which.since else True
    wanted &= table["day"].lt(which.until) if which.until else True
    return table[wanted]


def verdicts(table, by):
    """Count verdicts by hand: from a name to passed, failed, open."""
    return {
        name: tuple(int((part["outcome"] == word).sum()) for word in VERDICTS)
        for name, part in table.groupby(by)
    }


def as_counts(table):
    return {row[0]: tuple(map(int, row[1:])) for row in table.itertuples(index=False)}


def whiches():
    days = st.none() | st.dates(date(2025, 12, 25), date(2027, 1, 5))
    return st.builds(
        Which,
        days,
        days,
        st.sampled_from((None, *MACHINES)),
        st.sampled_from((None, *WELDERS)),
        st.none() | st.sampled_from(Purpose),
    )


@st.composite
def shops(draw):
    """Draw coupons of which some repeat a setting of one of the others, around two New Years."""
    made = draw(st.lists(coupons(), min_size=1, max_size=8))
    again = draw(st.lists(st.sampled_from(made), max_size=8))
    near = st.sampled_from([datetime(2025, 12, 30, tzinfo=UTC), datetime(2026, 12, 20, tzinfo=UTC)])
    moved = [
        replace(each, made_at=draw(near) + draw(st.integers(0, 10)) * DAY + n * HOUR)
        for n, each in enumerate(again)
    ]
    return [*made, *moved]


@settings(max_examples=7, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(made=shops(), asked=st.lists(whiches(), min_size=6, max_size=6))
def test_every_count_and_filter_equals_a_count_by_hand(url, made, asked):
    with closing(fill(open_log(url, f"shop {next(NUMBERS)}"))) as log:
        log.import_coupons(made, "Kim", NOW)
        log.void_coupon(1, BY, "wrong sheet", NOW)
        log.correct_coupon(len(made), made[0], BY, "misread", NOW) if len(made) > 1 else None
        table = frame(log)
        for which in (reviewing.ALL, *asked):
            _compare(log, table, which)


def _compare(log, table, which):
    mine = chosen(table, which)
    for group in (*KEYS, "purpose"):
        assert as_counts(log.pass_counts(group, which)) == verdicts(mine, group), group
    _compare_times(log, table, which)
    _compare_failures(log.failures(which), mine)


def _compare_times(log, table, which):
    first, last = which.since, which.until
    whole = which
    if first:
        whole = replace(whole, since=first.replace(day=1))
    if last and last.day > 1:
        whole = replace(whole, until=(last.replace(day=28) + 4 * DAY).replace(day=1))
    months = chosen(table, whole)
    starts = [day.replace(day=1) for day in months["day"]]
    assert as_counts(log.counts_by_time("month", which)) == verdicts(
        months, pd.Series(starts, months.index)
    )
    if first:
        mine = chosen(table, which)
        mondays = [day - timedelta(days=day.weekday()) for day in mine["day"]]
        assert as_counts(log.counts_by_time("week", which)) == verdicts(
            mine, pd.Series(mondays, mine.index)
        )


def _compare_failures(found, mine):
    failed = mine[mine["outcome"] == "fail"]
    assert found == Failures(
        Counter(why for each in failed["causes"] for why in each),
        len(failed),
        int((mine["outcome"] != "open").sum()),
        int(mine["expelled"].sum()),
        len(mine),
    )


@settings(max_examples=8, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(made=shops(), which=whiches())
def test_two_welders_side_by_side_equal_a_count_by_hand(url, made, which):
    with closing(fill(open_log(url, f"shop {next(NUMBERS)}"))) as log:
        log.import_coupons(made, "Kim", NOW)
        mine = chosen(frame(log), replace(which, welder=None))
        a, b = WELDERS[:2]
        wanted = {}
        for name, part in mine[mine["welder"].isin([a, b])].groupby(["machine", "stack"]):
            wanted[", ".join(name)] = tuple(
                int(((part["welder"] == who) & (part["outcome"] == word)).sum())
                for who, word in itertools.product((a, b), ("pass", "fail"))
            )
        found = log.strata(a.upper(), b, which).groupby("stratum").sum()
        assert {name: tuple(row) for name, row in zip(found.index, found.values, strict=True)} == (
            wanted
        )


# --- counts by hand -----------------------------------------------------------------------------


def at(moment, like=PASSING, **changes):
    return replace(like, made_at=moment, **changes)


def test_weeks_across_a_new_year(log):
    days = [(2025, 12, 28), (2025, 12, 29), (2026, 1, 1), (2026, 1, 4), (2026, 1, 5)]
    made = [at(datetime(*day, 23, 59, tzinfo=UTC)) for day in days]
    made[2] = replace(made[2], results=FAILING.results)
    log.import_coupons(made, "Kim", NOW)
    found = log.counts_by_time("week", Which(since=date(2025, 12, 1)))
    assert list(found.columns) == ["starts", "passed", "failed", "open"]
    assert found.to_numpy().tolist() == [
        [date(2025, 12, 22), 1, 0, 0],
        [date(2025, 12, 29), 2, 1, 0],
        [date(2026, 1, 5), 1, 0, 0],
    ]
    cut = log.counts_by_time("week", Which(date(2025, 12, 30), date(2026, 1, 4)))
    assert cut.to_numpy().tolist() == [[date(2025, 12, 29), 0, 1, 0]]
    months = log.counts_by_time("month", Which(date(2025, 12, 30), date(2026, 1, 4)))
    assert months.to_numpy().tolist() == [[date(2025, 12, 1), 2, 0, 0], [date(2026, 1, 1), 2, 1, 0]]


def test_a_log_without_coupons_has_no_week_and_no_month(log):
    for found in (
        log.counts_by_time("month"),
        log.counts_by_time("week", Which(date(2026, 1, 1))),
    ):
        assert found.empty
        assert list(found.columns) == ["starts", "passed", "failed", "open"]
    assert log.failures() == Failures({}, 0, 0, 0, 0)
    assert log.strata("Kim", "Robin, junior").empty
    assert log.pass_counts("family").empty


def test_weeks_need_a_first_day(log):
    with pytest.raises(InputError, match="weeks are counted from a day on; choose a period"):
        log.counts_by_time("week", Which(until=date(2026, 1, 1)))


def test_failures_by_hand(log):
    shear = InterfaceResult(3.0, 3.0, FailureType.INTERFACE)
    made = [
        PASSING,
        OPEN,
        replace(PASSING, expulsion=True),
        replace(OPEN, expulsion=True, notes="open, but thrown out"),
        replace(PASSING, results=(shear,), cracks=True),
        replace(FAILING, machine="gun 2"),
    ]
    log.import_coupons(made, "Kim", NOW)
    # What is still open elsewhere fails all the same when metal was thrown out.
    assert log.failures() == Failures(
        {
            "sheared at the interface": 1,
            "weld too small": 2,
            "expulsion": 2,
            "visible crack": 1,
        },
        4,
        5,
        2,
        6,
    )
    assert log.failures(Which(machine="GUN 2")) == Failures({"weld too small": 1}, 1, 1, 0, 1)
    log.void_coupon(5, BY, "twice", NOW)
    assert log.failures().causes == {"weld too small": 1, "expulsion": 2}


# --- drift --------------------------------------------------------------------------------------

CAPS, WIDER = PASSING.electrode, Electrode(CapShape.DOME, 8.0)
START = datetime(2026, 3, 1, tzinfo=UTC)


def weld(log, count, first=0, like=PASSING, **changes):
    """Log coupons of gun 1, an hour apart from an hour on; their numbers."""
    made = [at(START + (first + n) * HOUR, like, **changes) for n in range(count)]
    return log.import_coupons(made, "Kim", NOW)


def drift(log, caps=CAPS):
    return tuple([each.number for each in part] for part in log.drift_coupons("GUN 1", caps))


def test_the_first_coupons_make_the_limits_and_the_newest_are_held_against_them(log):
    numbers = weld(log, STABLE + NEWEST + 5)
    assert drift(log) == (numbers[:STABLE], numbers[-NEWEST:])


def test_with_fewer_coupons_there_is_nothing_to_hold_against_them(log):
    numbers = weld(log, STABLE - 1)
    assert drift(log) == (numbers, [])
    more = weld(log, 1, first=50)
    assert drift(log) == (numbers + more, [])
    last = weld(log, 1, first=51)
    assert drift(log) == (numbers + more, last)


def test_coupons_of_one_moment_are_all_there_once(log):
    numbers = log.import_coupons(
        [at(START, notes=str(n)) for n in range(STABLE + NEWEST + 3)], "Kim", NOW
    )
    assert drift(log) == (numbers[:STABLE], numbers[-NEWEST:])


def test_other_electrodes_machines_open_and_voided_coupons_are_left_out(log):
    mine = weld(log, STABLE + 2)
    weld(log, 3, electrode=WIDER)
    weld(log, 3, electrode=replace(CAPS, shape=CapShape.FLAT))
    weld(log, 3, machine="gun 2")
    weld(log, 3, like=OPEN)
    log.void_coupon(mine[0], BY, "wrong sheet", NOW)
    log.void_coupon(mine[-1], BY, "wrong sheet", NOW)
    assert drift(log) == (mine[1:-1][:STABLE], [])
    failing = weld(log, 1, first=90, like=FAILING)
    assert drift(log) == (mine[1:-1], failing)


def test_the_same_face_typed_in_inches_and_another_material_are_the_same_electrode(log):
    mine = weld(log, 2)
    mine += weld(log, 1, first=5, electrode=Electrode(CapShape.DOME, 6.004, "CuCr"))
    weld(log, 1, first=6, electrode=Electrode(CapShape.DOME, 6.02))
    assert drift(log) == (mine, [])


@pytest.mark.parametrize("what", ["fitted", "repaired", "settled"])
def test_limits_begin_with_the_first_fitting_a_repair_or_when_a_lead_says_so(log, what):
    weld(log, 5)
    since, border = weld(log, 3, first=10), START + 10 * HOUR
    {
        "fitted": lambda: log.fit_caps("gun 1", CAPS, border, BY),
        "repaired": lambda: log.repair("gun 1", border, BY),
        "settled": lambda: log.settle("gun 1", border, BY, "new cable"),
    }[what]()
    assert drift(log) == (since, [])


def test_the_same_caps_fitted_again_leave_the_limits_and_the_last_repair_moves_them(log):
    log.fit_caps("gun 1", CAPS, START, BY)
    log.fit_caps("gun 1", WIDER, START + 4 * HOUR, BY)
    log.fit_caps("gun 1", CAPS, START + 6 * HOUR, BY)
    log.dress("gun 1", START + 7 * HOUR, BY)
    numbers = weld(log, 10)
    assert drift(log) == (numbers, [])
    wide = weld(log, 8, first=0, electrode=WIDER)
    assert drift(log, WIDER) == (wide[4:], [])
    log.repair("gun 1", START + 2 * HOUR, BY)
    log.settle("gun 1", START + 3 * HOUR, BY, "new cable")
    log.repair("gun 1", START + HOUR, BY)
    assert drift(log) == (numbers[3:], [])
    assert drift(log, WIDER) == (wide[4:], [])


def test_an_event_of_another_machine_moves_nothing(log):
    numbers = weld(log, 3)
    log.repair("gun 2", START + HOUR, BY)
    assert drift(log) == (numbers, [])


def test_electrodes_come_with_the_one_fitted_now_first_and_each_once(log):
    assert log.electrodes("gun 1") == []
    for n, caps in enumerate((CAPS, WIDER, CAPS)):
        log.fit_caps("gun 1", caps, START + n * HOUR, BY)
    log.dress("gun 1", START + 5 * HOUR, BY)
    assert log.electrodes("gun 1") == [CAPS, WIDER]
    with pytest.raises(RecordError, match="no machine is called 'gun 9'"):
        log.electrodes("gun 9")


def test_settling_needs_its_reason_and_stands_among_the_events(log):
    with pytest.raises(InputError, match="say in a few words why the limits of drift begin anew"):
        log.settle("gun 1", START, BY, " ")
    log.settle("gun 1", START, BY, "new cable")
    (event,) = log.events("gun 1")
    assert (event.kind, event.note) == ("settled", "new cable")
    assert "limits of drift begin anew, new cable (Lead)" in str(event)
    assert log.bench("gun 1").repaired_at is None


def test_the_seal_of_drift_follows_coupons_and_events(log):
    seen = [log.drift_seal()]
    steps = (
        lambda: log.add_coupon(PASSING, "Kim", NOW),
        lambda: log.void_coupon(1, BY, "twice", NOW),
        lambda: log.repair("gun 1", START, BY),
        lambda: log.settle("gun 1", START, BY, "cable"),
    )
    for step in steps:
        step()
        seen.append(log.drift_seal())
        assert log.drift_seal() == seen[-1]
    assert len(set(seen)) == len(seen)


# --- foretold -----------------------------------------------------------------------------------

SAID = Foretold(0.9, 0.05, 30)


def told(log):
    """Return what is kept, by the numbers of the coupons."""
    query = text(
        "SELECT c.number, f.chance_sound, f.chance_expulsion, f.coupons_known FROM foretold AS f "
        "JOIN coupon AS c ON c.id = f.coupon_id WHERE f.shop_id = :shop ORDER BY f.place"
    )
    with log._reading() as connection:
        return [tuple(row) for row in connection.execute(query, {"shop": log._shop})]


def test_it_is_kept_by_both_ways_of_logging_a_coupon_and_sealed(log):
    log.add_coupon(PASSING, "Kim", NOW, SAID)  # the longer way: neither rules nor stack are there
    log.add_coupon(PASSING, "Kim", NOW, Foretold(0.5, 0.0, 0))
    log.add_coupon(PASSING, "Kim", NOW)
    assert told(log) == [(1, 0.9, 0.05, 30), (2, 0.5, 0.0, 0)]
    report = log.verify()
    assert report.is_sound, report.lines()
    assert {each.table: each.rows for each in report.chains}["foretold"] == 2


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE foretold SET chance_sound = 0.1",
        "DELETE FROM foretold",
        "INSERT INTO foretold (shop_id, coupon_id, chance_sound, chance_expulsion, coupons_known, "
        "recorded_at, place, seal) SELECT shop_id, coupon_id, 0.1, 0, 0, recorded_at, 9, 'x' "
        "FROM foretold",
    ],
)
def test_it_can_neither_be_changed_nor_said_twice(log, statement):
    log.add_coupon(PASSING, "Kim", NOW, SAID)
    refused = pytest.raises(DBAPIError, match=r"never changed or deleted|duplicate key")
    with refused, log._writer.begin() as connection:
        connection.execute(text(statement))
    assert told(log) == [(1, 0.9, 0.05, 30)]
    assert log.verify().is_sound


def test_a_coupon_that_is_refused_leaves_nothing_foretold(log):
    with pytest.raises(InputError, match="in the future"):
        log.add_coupon(PASSING, "Kim", PASSING.made_at - DAY, SAID)
    assert told(log) == []


@pytest.mark.parametrize("way", ["json_lines", "tables"])
def test_it_goes_out_and_in_once(log, url, way):
    log.add_coupon(PASSING, "Kim", NOW, SAID)
    log.add_coupon(FAILING, "Kim", NOW, Foretold(1.0, 0.125, 4))
    file = io.BytesIO()
    getattr(log, f"export_{way}")(file)
    with closing(open_log(url, "Bay B").used_by(Trust.OPERATOR)) as other:
        arrived = other.bring_in(LogFile(file), BY, NOW)
        assert {each.kind: each.new for each in arrived.counts}["foretold"] == 2
        assert told(other) == told(log)
        assert other.foretold_sums("sound") == log.foretold_sums("sound")
        assert other.bring_in(LogFile(file), BY, NOW).new == 0
        assert told(other) == told(log)
        assert other.verify().is_sound


def test_it_follows_its_coupon_to_another_number(log, url):
    log.add_coupon(PASSING, "Kim", NOW, SAID)
    file = io.BytesIO()
    log.export_json_lines(file)
    with closing(fill(open_log(url, "Bay B")).used_by(Trust.OPERATOR)) as other:
        other.add_coupon(FAILING, "Kim", NOW, Foretold(0.2, 0.2, 1))
        other.bring_in(LogFile(file), BY, NOW)
        assert told(other) == [(1, 0.2, 0.2, 1), (2, 0.9, 0.05, 30)]
        assert other.bring_in(LogFile(file), BY, NOW).new == 0


def test_what_was_said_here_stays_where_a_file_says_another_thing(log):
    log.add_coupon(PASSING, "Kim", NOW, SAID)
    file = io.BytesIO()
    log.export_json_lines(file)
    data = file.getvalue()
    for old, new in (
        (b'"chance_sound":0.9', b'"chance_sound":0.1'),
        (b"2027-01-01", b"2026-12-31"),
    ):
        lines = [
            line.replace(old, new) if line.startswith(b'{"kind":"foretold"') else line
            for line in data.split(b"\n")
        ]
        assert b"\n".join(lines) != data
        arrived = log.used_by(Trust.OPERATOR).bring_in(
            LogFile(io.BytesIO(b"\n".join(lines))), BY, NOW
        )
        assert arrived.new == 0
    assert told(log) == [(1, 0.9, 0.05, 30)]


def test_it_stands_in_the_zip_as_a_table_of_its_own(log):
    log.add_coupon(PASSING, "Kim", NOW, SAID)
    file = io.BytesIO()
    log.export_tables(file)
    with zipfile.ZipFile(file) as packed:
        rows = packed.read("foretold.csv").decode().splitlines()
    assert rows == [
        "coupon,chance_sound,chance_expulsion,coupons_known,recorded_at",
        "1,0.9,0.05,30,2027-01-01T00:00:00+00:00",
    ]


def assert_sums(found, wanted):
    assert vars(found) == pytest.approx(vars(wanted), abs=1e-9)


def chances():
    return st.floats(0, 1) | st.sampled_from((0.0, 5e-324, 1e-200, 1.0, 0.01, 0.03, 0.5, 0.99))


def foretold_coupons():
    kinds = st.sampled_from((PASSING, FAILING, OPEN, replace(PASSING, expulsion=True)))
    guns = st.sampled_from(MACHINES)
    said = st.builds(Foretold, chances(), chances(), st.integers(0, 99))
    return st.lists(st.tuples(kinds, guns, said), max_size=12)


@settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(foretold_coupons())
def test_sums_and_bins_are_those_of_the_same_rows_by_hand(url, made):
    with closing(fill(open_log(url, f"shop {next(NUMBERS)}"))) as log:
        for each, gun, said in made:
            log.add_coupon(replace(each, machine=gun), "Kim", NOW, said)
        for gun in (None, *MACHINES):
            _compare_foretold(log, gun, [row for row in made if gun in (None, row[1])])


def _compare_foretold(log, gun, made):
    judged = [(each, said) for each, _, said in made if each is not OPEN]
    sound = [(said.chance_sound, each is PASSING) for each, said in judged]
    thrown = [(said.chance_expulsion, each.expulsion) for each, said in judged]
    for event, rows in (("sound", sound), ("expulsion", thrown)):
        p, y = [chance for chance, _ in rows], [float(happened) for _, happened in rows]
        assert_sums(log.foretold_sums(event, gun), sums_of(p, y))
        bins = log.foretold_bins(event, gun)
        assert list(bins.columns) == ["low", "high", "count", "sum_foretold", "sum_happened"]
        assert bins["count"].sum() == len(rows)
        assert bins["sum_foretold"].sum() == pytest.approx(sum(p))
        assert bins["sum_happened"].sum() == sum(y)
        _check_bins(bins, rows)
        assert reliability_from_bins(bins)["count"].sum() == len(rows)


def _check_bins(bins, rows):
    """Look that each bin holds the chances between its ends."""
    for each in bins.itertuples():
        inside = sum(each.low - 1e-9 <= p <= each.high + 1e-9 for p, _ in rows)
        strictly = sum(each.low + 1e-9 < p < each.high - 1e-9 for p, _ in rows)
        assert strictly <= each.count <= inside
        assert each.low - 1e-9 <= each.sum_foretold / each.count <= each.high + 1e-9
        assert 0 <= each.low < each.high <= 1


def test_nothing_foretold(log):
    log.add_coupon(PASSING, "Kim", NOW)
    assert_sums(log.foretold_sums("sound"), sums_of([], []))
    assert log.foretold_bins("expulsion").empty
    assert reliability_from_bins(log.foretold_bins("sound")).empty


CORRECTIONS = {
    "current": (PASSING.setting, {"current_kA": 9.6}),
    "time": (PASSING.setting, {"weld_ms": 210.0}),
    "force": (PASSING.setting, {"force_kN": 3.1}),
}


@pytest.mark.parametrize(("setting", "changes"), CORRECTIONS.values(), ids=CORRECTIONS)
def test_a_corrected_setting_was_not_the_one_that_was_asked_about(log, setting, changes):
    log.add_coupon(PASSING, "Kim", NOW, SAID)
    corrected = replace(PASSING, setting=replace(setting, **changes))
    log.correct_coupon(1, corrected, BY, "misread", NOW)
    assert log.foretold_sums("sound").count == 0
    assert log.foretold_bins("sound").empty
    log.correct_coupon(1, PASSING, BY, "read well", NOW)
    assert log.foretold_sums("sound").count == 1


@pytest.mark.parametrize(
    "changes", [{"machine": "gun 2"}, {"stack": Stack((Sheet(1.2), Sheet(1.6)))}]
)
def test_nor_was_another_machine_or_stack(log, changes):
    log.add_coupon(PASSING, "Kim", NOW, SAID)
    log.correct_coupon(1, replace(PASSING, **changes), BY, "misread", NOW)
    for gun in (None, *MACHINES):
        assert log.foretold_sums("sound", gun).count == 0


def test_a_corrected_result_counts_as_it_is_now_and_a_voided_coupon_not_at_all(log):
    log.add_coupon(PASSING, "Kim", NOW, SAID)
    log.correct_coupon(1, FAILING, BY, "misread", NOW)
    assert_sums(log.foretold_sums("sound"), sums_of([0.9], [0]))
    log.correct_coupon(1, replace(FAILING, expulsion=True), BY, "misread", NOW)
    assert_sums(log.foretold_sums("expulsion"), sums_of([0.05], [1]))
    log.void_coupon(1, BY, "wrong sheet", NOW)
    assert log.foretold_sums("sound").count == 0
    assert log.foretold_sums("expulsion").count == 0


def test_an_open_coupon_counts_once_it_is_judged(log):
    log.add_coupon(OPEN, "Kim", NOW, SAID)
    assert log.foretold_sums("sound").count == 0
    log.correct_coupon(1, PASSING, BY, "tested", NOW)
    assert_sums(log.foretold_sums("sound"), sums_of([0.9], [1]))


def test_only_the_newest_are_looked_at_whatever_machine_is_asked_for(log, monkeypatch):
    monkeypatch.setattr(predictions, "FORETOLD", 3)
    for n, gun in enumerate(("gun 1", "gun 1", "gun 2", "gun 1")):
        log.add_coupon(replace(PASSING, machine=gun), "Kim", NOW, Foretold(n / 10, 0, n))
    assert log.foretold_sums("sound").count == 3
    assert log.foretold_sums("sound").foretold == pytest.approx(0.6)
    assert log.foretold_sums("sound", "GUN 1").foretold == pytest.approx(0.4)
    log.void_coupon(4, BY, "wrong sheet", NOW)
    assert log.foretold_sums("sound").count == 2


def test_a_day_is_read_in_universal_time_by_both_databases(log):
    late = datetime(2026, 1, 1, 0, 30, tzinfo=UTC).astimezone()
    log.add_coupon(at(late), "Kim", NOW)
    assert log.counts_by_time("month")["starts"].tolist() == [date(2026, 1, 1)]
