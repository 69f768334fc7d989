"""Whole logs as records: drawn ones of every kind, and a shop filled in through the log itself."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from hypothesis import strategies as st
from strategies import coupons, electrodes, moments, settings, stacks

from advisor.bonding.adhesive import Adhesive, Span
from advisor.bonding.clock import Reading
from advisor.bonding.preparation import CHECKS, Answer, Checked
from advisor.coupons.coupon import Coupon, InterfaceResult
from advisor.coupons.foretold import Foretold
from advisor.coupons.joint import Joint
from advisor.coupons.recommendation import MakerRecommendation
from advisor.coupons.release import Evidence, Release
from advisor.coupons.rules import (
    CoverageRules,
    ExpulsionRule,
    InterfaceFailureRule,
    JudgingRules,
    ShopRules,
)
from advisor.coupons.verdict import Outcome, Reason, Verdict
from advisor.exchange import records as r
from advisor.exchange.header import Header
from advisor.exchange.kinds import KIND_OF, KINDS
from advisor.people.roles import Role
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.failure import FailureType
from advisor.weld.machine import Machine
from advisor.weld.published import Schedule
from advisor.weld.setting import Setting
from advisor.weld.sheet import Sheet
from advisor.weld.size import GoverningRule, SizeRule
from advisor.weld.stack import AdhesiveState, Bond, Stack

#: When the filled shop is looked at, and a moment behind all that is drawn.
THEN, NOW = datetime(2025, 7, 1, tzinfo=UTC), datetime(2027, 1, 1, tzinfo=UTC)
#: Every letter that a text of the log may hold.
LETTERS = st.characters(exclude_categories=["Cs"], exclude_characters="\0")
TEXTS = st.text(LETTERS, max_size=12) | st.sampled_from(
    ("", "=1+1", "'=1+1", "-0.5", "'-0.5", "\t", "＝x", 'a "b", c\r\nd', " x ", "\u2028", "@x;=y")
)
NAMES = TEXTS.filter(str.strip)
FLOATS = st.floats(allow_nan=False, allow_infinity=False)


def header_of(records, **says):
    """Return the header that fits some records."""
    counts = {kind.name: 0 for kind in KINDS}
    for record in records:
        counts[KIND_OF[type(record)].name] += 1
    coupons = sum(isinstance(each, r.CouponRevision) and each.revision == 1 for each in records)
    usual = {
        "shop": "Shop",
        "invented_demo": False,
        "practice_copy": False,
        "written_at": NOW,
        "program_version": "0",
    }
    return Header(**(usual | says), coupons=coupons, records=counts)


def rules():
    judging = st.builds(
        JudgingRules,
        st.builds(SizeRule, st.floats(3.5, 6), st.sampled_from(GoverningRule)),
        st.sampled_from(InterfaceFailureRule),
        st.sampled_from(ExpulsionRule),
        st.floats(1.01, 5),
    )
    coverage = st.builds(
        CoverageRules,
        st.integers(1, 100),
        st.floats(0, 0.05),
        st.integers(1, 30),
        st.integers(1, 30),
    )
    dress = st.none() | st.integers(1, 5000)
    return st.builds(ShopRules, judging, coverage, st.sampled_from(Schedule), dress)


def verdicts():
    outcomes = st.sampled_from(Outcome)
    reasons = st.lists(st.builds(Reason, outcomes, TEXTS), max_size=3)
    return st.builds(Verdict, outcomes, reasons.map(tuple))


@st.composite
def _machines(draw, name):
    low, high = sorted(draw(st.tuples(st.floats(0.3, 19), st.floats(20, 40))))
    return Machine(
        name,
        high,
        draw(st.floats(1, 20)),
        draw(st.floats(45, 65)),
        draw(st.booleans()),
        low,
        draw(st.floats(0.05, 0.9)),
        draw(st.none() | st.floats(0.01, 20)),
        draw(st.floats(-5, 5)),
    )


@st.composite
def _adhesives(draw, name):
    times = sorted(draw(st.lists(st.floats(1, 20000), min_size=6, max_size=6)))
    spans = [Span(low, high) for low, high in zip(times[::2], times[1::2], strict=True)]
    return Adhesive(
        name,
        *spans,
        draw(st.floats(0, 60)),
        draw(TEXTS),
        draw(st.none() | st.floats(0.1, 50)),
        draw(st.none() | st.floats(0.01, 5)),
    )


@st.composite
def _joints(draw, name, job, machine, *, planned=True):
    return Joint(
        name,
        job,
        draw(stacks()),
        machine,
        draw(st.none() | settings()) if planned else None,
        draw(st.none() | st.integers(1, 1000)),
        draw(st.none() | st.floats(5, 500)),
    )


@st.composite
def _revisions(draw, people, machines, versions):
    """Draw the revisions of a few coupons, in an order in which they may have been written."""
    open_numbers, found = draw(st.permutations(range(1, draw(st.integers(1, 4))))), []
    last = dict.fromkeys(open_numbers, 0)
    more = draw(st.lists(st.sampled_from(open_numbers), max_size=3)) if open_numbers else []
    for number in [*open_numbers, *more]:
        last[number] += 1
        fixed = {"welder": draw(people), "machine": draw(machines)}
        coupon = replace(draw(coupons(**fixed)), job=draw(TEXTS), notes=draw(TEXTS))
        says = (draw(TEXTS), draw(TEXTS), draw(TEXTS), draw(TEXTS), draw(moments()))
        verdict, version = draw(verdicts()), draw(versions)
        found.append(r.CouponRevision(number, last[number], coupon, verdict, version, *says))
    return found


def _foretold():
    return st.builds(Foretold, st.floats(0, 1), st.floats(0, 1), st.integers(0, 2000))


@st.composite
def _checks(draw):
    check = draw(st.sampled_from(CHECKS))
    return Checked(
        check.key,
        draw(st.sampled_from(Answer)),
        draw(st.floats(0, 1000)),
        draw(TEXTS),
        draw(moments()),
    )


@st.composite
def whole_logs(draw):
    """Draw records of every kind that hold together, in the order of a file."""
    few = {"min_size": 1, "max_size": 2, "unique": True}
    names, guns = draw(st.lists(NAMES, **few)), draw(st.lists(NAMES, **few))
    glues, orders = draw(st.lists(NAMES, **few)), draw(st.lists(NAMES, **few))
    some_gun, someone = st.sampled_from(guns), st.sampled_from(names)
    roles, left = st.sampled_from(Role), st.none() | moments()
    found = [r.Person(name, draw(roles), draw(left)) for name in names]
    found += [draw(_machines(name)) for name in guns]
    caps = st.none() | electrodes()
    event = st.builds(
        r.Event,
        some_gun,
        st.sampled_from(("fitted", "dressed", "repaired", "settled")),
        moments(),
        caps,
        TEXTS,
        TEXTS,
        moments(),
    )
    found += draw(st.lists(event, max_size=2))
    found += [draw(_adhesives(name)) for name in glues]
    versions = [r.RulesVersion(n, draw(rules()), draw(TEXTS), draw(moments())) for n in (1, 2)]
    found += versions
    found += [r.Job(number, draw(moments()), draw(left)) for number in orders]
    places = [(job, name) for job in orders for name in draw(st.lists(NAMES, **few))]
    found += [draw(_joints(name, job, draw(some_gun))) for job, name in places]
    usual = draw(st.lists(NAMES, max_size=2, unique=True))
    found += [
        r.UsualJoint(draw(_joints(name, "usual", draw(some_gun), planned=False))) for name in usual
    ]
    revisions = draw(_revisions(someone, some_gun, st.sampled_from((1, 2))))
    found += revisions
    numbers = sorted({each.number for each in revisions})
    told = draw(st.lists(st.sampled_from(numbers), unique=True)) if numbers else []
    found += [r.CouponForetold(number, draw(_foretold()), draw(moments())) for number in told]
    found += [
        r.Photo(number, f"{number:064x}", "image/png", 9, 8, 7, draw(TEXTS), draw(moments()))
        for number in numbers[:1]
    ]
    evidence = tuple(Evidence(number, 1) for number in numbers)
    release = st.builds(Release, TEXTS, moments(), settings(), st.just(evidence), TEXTS)
    some_place = st.sampled_from(places)
    found += [r.JointRelease(*draw(some_place), draw(release)) for _ in range(2)]
    found += [r.JointCheck(*draw(some_place), draw(_checks())) for _ in range(2)]
    said = st.builds(MakerRecommendation, some_gun, stacks(), NAMES, NAMES, NAMES, TEXTS, moments())
    found += draw(st.lists(said, max_size=1))
    stop = draw(st.none() | st.tuples(moments(), NAMES)) or (None, None)
    clock = r.Clock(7, glues[0], draw(TEXTS), draw(moments()), draw(TEXTS), *stop)
    reading = st.builds(Reading, moments(), st.floats(-20, 60))
    found += [clock, r.ClockReading(7, draw(reading), draw(TEXTS))]
    maybe = st.none() | TEXTS.filter(bool)
    found += draw(st.lists(st.builds(r.Change, moments(), TEXTS, TEXTS, maybe, maybe), max_size=2))
    return found


BY = "Lead"
GLUE = Adhesive("Test epoxy", Span(40, 50), Span(90, 120), Span(1440, 1440), note="=a note")
PAIR = Stack((Sheet(1.2), Sheet(1.5)))
WET = Stack(PAIR.sheets, (Bond(GLUE.name, AdhesiveState.WET),))
GOOD = Coupon(
    made_at=datetime(2025, 6, 20, 10, 0, tzinfo=UTC),
    welder="Kim",
    machine="gun 1",
    electrode=Electrode(CapShape.DOME, 6),
    stack=PAIR,
    setting=Setting(9.5, 200, 3.0),
    results=(InterfaceResult(4.6, 5.0, FailureType.BUTTON),),
    job="RO 1",
)


def add_coupons(log, count, first_at=GOOD.made_at, **changes):
    """Log some coupons, a minute apart and an hour before THEN; their numbers.

    Of every other one something was foretold.
    """
    return [
        log.add_coupon(
            replace(GOOD, made_at=first_at + timedelta(minutes=n), **changes),
            "Kim",
            THEN - timedelta(hours=1),
            None if n % 2 else Foretold(0.7 + n / 10, 0.125, n),
        ).number
        for n in range(count)
    ]


def fill(log):
    """Fill a log with something of every kind, photos left out."""
    log.add_welder(BY, BY)
    log.add_welder("Kim", BY)
    log.add_welder("Robin", BY, Role.TRAINER)
    log.add_welder("Gone", BY)
    log.leave("Gone", BY)
    for name in ("gun 1", "Gun  2"):
        log.save_machine(Machine(name, 40, 20, 50, True, 0.3, 0.05, 0.62, -0.1), BY)
    log.fit_caps("gun 1", GOOD.electrode, GOOD.made_at - timedelta(days=20), BY)
    log.dress("gun 1", GOOD.made_at - timedelta(days=9), "Kim")
    log.repair("gun 2", GOOD.made_at - timedelta(days=8), "Kim", "new cable")
    log.settle("gun 2", GOOD.made_at - timedelta(days=7), BY, "after the new cable")
    log.save_adhesive(GLUE, BY)
    log.save_rules(ShopRules(JudgingRules(SizeRule(3.5))), BY)
    sill = log.save_joint(Joint("sill", "RO 1", PAIR, "gun 1", None, 20, 30.0), BY)
    rear = log.save_joint(Joint("rear", "RO 1", WET.turned_over(), "Gun  2"), BY)
    log.save_joint(Joint("floor", "RO 2", PAIR, "gun 1", Setting(9, 180, 3)), BY)
    log.close_job("RO 2", BY)
    log.save_template("our sill", Joint("sill", "usual", WET, "gun 1", None, 12, 25.0), BY)
    add_coupons(log, 4)
    log.save_rules(ShopRules(JudgingRules(SizeRule(4.0)), dress_after_welds=120), BY)
    add_coupons(log, 2, GOOD.made_at + timedelta(days=1), stack=WET, notes="=1+1\nsmoky")
    bad = replace(GOOD, results=(InterfaceResult(2.0, 2.5, FailureType.BUTTON),))
    log.correct_coupon(2, bad, BY, "misread", THEN - timedelta(minutes=50))
    log.void_coupon(5, BY, "wrong sheet", THEN - timedelta(minutes=40))
    log.release(sill, BY, "by eye", THEN - timedelta(minutes=30))
    log.add_check(rear, "dust_off", Answer.DONE, None, "Kim", THEN - timedelta(minutes=29))
    log.add_check(rear, "edge_bevel", Answer.DONE, 8.5, "Kim", THEN - timedelta(minutes=28))
    said = MakerRecommendation("gun 1", WET, "Sheet 7", "3", "12 kA, 10 cycles", "Kim", THEN)
    log.add_recommendation(said)
    for used_for in ("sill", "sill", "rear"):
        clock = log.start_clock(GLUE.name, used_for, _mixed(), 21.5, "Kim")
    log.add_temperature(clock, 19.25, _mixed() + timedelta(minutes=5), BY)
    log.stop_clock(clock, BY)
    return log


def _mixed():
    return datetime(2025, 6, 1, 8, 0, tzinfo=UTC)


def all_reads(log):
    """Return all that the log says in public, without the numbers of its database."""
    states = log.joint_states(now=THEN)
    return {
        "coupons": list(log.iter_coupons()),
        "histories": [log.history(each.number) for each in log.iter_coupons()],
        "recent": log.recent_coupons(500),
        "people": log.people(),
        "machines": log.machines(),
        "events": [log.events(machine.name, 500) for machine in log.machines()],
        "adhesives": log.adhesives(),
        "rules": log.rules(),
        "jobs": [log.jobs(open_only=False), log.jobs()],
        "joints": [(s.stored.joint, s.coverage, s.release, s.reopened) for s in states],
        "checks": [log.checks(s.stored.id) for s in states],
        "usual": log.templates(),
        "said": [log.recommendation("gun 1", WET), log.recommendation("gun 1", PAIR)],
        "clocks": [
            replace(clock, id=n)
            for n, clock in enumerate(log.clocks_since(datetime(2000, 1, 1, tzinfo=UTC)))
        ],
        "changes": [(c.at, c.who, c.what, c.before, c.after) for c in log.changes(500)],
        "counts": (log.counts(), log.pass_counts("welder").values.tolist()),
        "purposes": log.pass_counts("purpose").values.tolist(),
        "by month": log.counts_by_time("month").values.tolist(),
        "failures": log.failures(),
        "foretold": [
            (log.foretold_sums(event), log.foretold_bins(event).values.tolist())
            for event in ("sound", "expulsion")
        ],
        "caps": log.caps(),
        "electrodes": [log.electrodes(machine.name) for machine in log.machines()],
    }
