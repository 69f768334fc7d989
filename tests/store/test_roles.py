"""Who may do what: every public method of the log, really called by everybody there is.

A new method of `Log` needs a line in `LINES`: its name, who may call it, and a call that would
succeed in `World`.
"""

import inspect
import io
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from io import BytesIO

import pytest
from PIL import Image
from sqlalchemy import update
from store_examples import BY, NOW, PASSING

from advisor.bonding.adhesive import Adhesive, Span
from advisor.bonding.preparation import Answer
from advisor.coupons.joint import Joint
from advisor.coupons.recommendation import MakerRecommendation
from advisor.coupons.rules import ShopRules
from advisor.errors import RoleError
from advisor.exchange.log_file import LogFile
from advisor.people.roles import Role
from advisor.store.base import Trust
from advisor.store.log import Log
from advisor.store.schema import shop
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.sheet import Sheet
from advisor.weld.stack import Stack

KIM, ROBIN, ALEX, TARA, GONE = "Kim", "Robin, junior", 'Alex "Sandy" Müller', "Tara", "Gone"
OFFICE = "the server's command line"
PIN = "482913"
CAPS = Electrode(CapShape.DOME, 6.0)
EPOXY = Adhesive("Test epoxy", Span(40, 50), Span(90, 120), Span(1440, 1440))
THIN = Stack((Sheet(0.8), Sheet(0.8)))
RECENT = replace(PASSING, made_at=NOW - timedelta(hours=2), job="RO 1")
#: A coupon that speaks for no joint here.
ASIDE = replace(RECENT, stack=THIN, job="RO 2", welder=ALEX)


def photo():
    file = io.BytesIO()
    Image.new("RGB", (8, 6), "red").save(file, "PNG")
    return file.getvalue()


PHOTO = photo()


class World:
    """A shop in which every line of the table can be done once.

    `mine` and `own` are a coupon and a covered joint of the one who acts, `anothers` and `others`
    are not.
    """

    def __init__(self, log, actor):
        self.log = log.used_by(Trust.OPERATOR)
        self.people()
        self.welder = actor if actor in self.log.welders() else KIM
        self.bench()
        self.clocks = [self.start_clock(), self.start_clock()]
        self.token = self.log.sign_in(ROBIN, PIN)

    def people(self):
        for name in (TARA, GONE, "Spare"):
            self.log.add_welder(name, OFFICE, Role.TRAINER if name == TARA else Role.WELDER)
        self.log.leave(GONE, OFFICE)
        for name in (BY, ROBIN):
            self.log.set_pin(name, PIN, OFFICE)

    def bench(self):
        for gun in ("gun 1", "gun 2"):
            self.log.fit_caps(gun, PASSING.electrode, NOW - timedelta(days=9), OFFICE)
        self.mine = self.covering("gun 1", self.welder)
        self.anothers = self.covering("gun 2", ALEX)
        self.aside = self.log.add_coupon(ASIDE, OFFICE, NOW).number
        self.log.add_photo(self.aside, PHOTO, OFFICE)
        self.own = self.save_joint("sill", "gun 1")
        self.others = self.save_joint("pillar", "gun 2")
        self.log.save_joint(self.joint("roof", "gun 1", "RO 9"), OFFICE)
        self.log.save_template("dropped", self.joint("sill", "gun 1"), OFFICE)
        self.log.save_adhesive(EPOXY, OFFICE)

    def covering(self, gun, welder):
        new = replace(RECENT, machine=gun, welder=welder)
        self.log.add_coupon(new, OFFICE, NOW)
        return self.log.add_coupon(new, OFFICE, NOW)

    def joint(self, name, gun, job="RO 1"):
        return Joint(name, job, PASSING.stack, gun)

    def save_joint(self, name, gun):
        return self.log.save_joint(self.joint(name, gun), OFFICE)

    def start_clock(self):
        mixed_at = datetime.now(UTC) - timedelta(minutes=10)
        return self.log.start_clock(EPOXY.name, "sill", mixed_at, 20.0, OFFICE)

    def whole_log(self):
        file = BytesIO()
        self.log.export_json_lines(file)
        return LogFile(file)

    def photo(self):
        return self.log.photos(self.aside)[0].sha256


DOOR = "even who has not signed in"
READ = "whoever has come in"
KEEP = "whoever is in the shop's list: their own things"
BENCH = "welders and leads"
LEAD = "leads"
EVERYTHING = {DOOR, READ, KEEP, BENCH, LEAD}


@dataclass(frozen=True)
class Line:
    """One method: its name, who may, and a call of it by a name in a world."""

    method: str
    who: str
    call: Callable[[Log, str, World], object] = field(repr=False)
    note: str = ""

    @property
    def label(self):
        return f"{self.method} {self.note}".strip()


LINES = [
    Line("url", DOOR, lambda log, by, w: log.url),
    Line("used_by", DOOR, lambda log, by, w: log.used_by(Trust.SIGNED_OUT)),
    Line("sign_in", DOOR, lambda log, by, w: log.sign_in(ROBIN, PIN)),
    Line("visitor", DOOR, lambda log, by, w: log.visitor(w.token)),
    Line("person_with_email", DOOR, lambda log, by, w: log.person_with_email("a@b")),
    Line("check_may_listen", DOOR, lambda log, by, w: log.check_may_listen()),
    Line("sign_out", DOOR, lambda log, by, w: log.sign_out(w.token)),
    Line("is_demo", READ, lambda log, by, w: log.is_demo),
    Line("is_copy", READ, lambda log, by, w: log.is_copy),
    Line("is_empty", READ, lambda log, by, w: log.is_empty()),
    Line("pass_counts", READ, lambda log, by, w: log.pass_counts("welder")),
    Line("counts", READ, lambda log, by, w: log.counts()),
    Line("counts_by_time", READ, lambda log, by, w: log.counts_by_time("month")),
    Line("failures", READ, lambda log, by, w: log.failures()),
    Line("strata", READ, lambda log, by, w: log.strata(KIM, ROBIN)),
    Line("electrodes", READ, lambda log, by, w: log.electrodes("gun 1")),
    Line("drift_coupons", READ, lambda log, by, w: log.drift_coupons("gun 1", CAPS)),
    Line("drift_seal", READ, lambda log, by, w: log.drift_seal()),
    Line("foretold_sums", READ, lambda log, by, w: log.foretold_sums("sound")),
    Line("foretold_bins", READ, lambda log, by, w: log.foretold_bins("expulsion", "gun 1")),
    Line("releases_between", READ, lambda log, by, w: log.releases_between(RECENT.made_at, NOW)),
    Line("voided_between", READ, lambda log, by, w: log.voided_between(RECENT.made_at, NOW)),
    Line("waiting", READ, lambda log, by, w: log.waiting(NOW)),
    Line("caps", READ, lambda log, by, w: log.caps()),
    Line("newest_revisions", READ, lambda log, by, w: log.newest_revisions("gun 1", 9)),
    Line("people", READ, lambda log, by, w: log.people()),
    Line("welders", READ, lambda log, by, w: log.welders()),
    Line("machines", READ, lambda log, by, w: log.machines()),
    Line("machine", READ, lambda log, by, w: log.machine("gun 1")),
    Line("bench", READ, lambda log, by, w: log.bench("gun 1")),
    Line("events", READ, lambda log, by, w: log.events("gun 1")),
    Line(
        "welds_since_dressing_hint",
        READ,
        lambda log, by, w: log.welds_since_dressing_hint("gun 1"),
    ),
    Line("adhesives", READ, lambda log, by, w: log.adhesives()),
    Line("rules", READ, lambda log, by, w: log.rules()),
    Line("preferences", READ, lambda log, by, w: log.preferences(by)),
    Line("changes", READ, lambda log, by, w: log.changes()),
    Line("jobs", READ, lambda log, by, w: log.jobs()),
    Line("job_opened_at", READ, lambda log, by, w: log.job_opened_at("RO 1")),
    Line("joint", READ, lambda log, by, w: log.joint(w.own)),
    Line("joints", READ, lambda log, by, w: log.joints()),
    Line("joint_names", READ, lambda log, by, w: log.joint_names()),
    Line("joint_states", READ, lambda log, by, w: log.joint_states("RO 1", NOW)),
    Line("states_of", READ, lambda log, by, w: log.states_of(w.log.joints("RO 1"), NOW)),
    Line("coverage", READ, lambda log, by, w: log.coverage(w.joint("sill", "gun 1"), NOW)),
    Line("coupon", READ, lambda log, by, w: log.coupon(w.aside)),
    Line("history", READ, lambda log, by, w: log.history(w.aside)),
    Line("newest_of", READ, lambda log, by, w: log.newest_of(PASSING.stack, "gun 1")),
    Line("draft", READ, lambda log, by, w: log.draft(by, "a form")),
    Line("export_json_lines", READ, lambda log, by, w: log.export_json_lines(BytesIO())),
    Line("export_tables", READ, lambda log, by, w: log.export_tables(BytesIO())),
    Line("may_bring_in", DOOR, lambda log, by, w: log.may_bring_in(by)),
    Line("recent_coupons", READ, lambda log, by, w: log.recent_coupons()),
    Line("coupons_for_learning", READ, lambda log, by, w: log.coupons_for_learning("gun 1")),
    Line(
        "coupons_for_joint",
        READ,
        lambda log, by, w: log.coupons_for_joint(w.joint("sill", "gun 1"), NOW),
    ),
    Line("iter_coupons", READ, lambda log, by, w: list(log.iter_coupons())),
    Line("checks", READ, lambda log, by, w: log.checks(w.own)),
    Line("recommendation", READ, lambda log, by, w: log.recommendation("gun 1", THIN)),
    Line("templates", READ, lambda log, by, w: log.templates()),
    Line("running_clocks", READ, lambda log, by, w: log.running_clocks()),
    Line("clocks_since", READ, lambda log, by, w: log.clocks_since(NOW)),
    Line("photos", READ, lambda log, by, w: log.photos(w.aside)),
    Line("photo_data", READ, lambda log, by, w: log.photo_data(w.photo())),
    Line("photo_folder", READ, lambda log, by, w: log.photo_folder()),
    Line("photo_faults", READ, lambda log, by, w: list(log.photo_faults())),
    Line("verify", READ, lambda log, by, w: log.verify()),
    Line("holds_seal", READ, lambda log, by, w: log.holds_seal("0" * 64)),
    Line("newest_seals", READ, lambda log, by, w: log.newest_seals()),
    Line("last_seal", READ, lambda log, by, w: log.last_seal()),
    Line("save_draft", KEEP, lambda log, by, w: log.save_draft(by, "a form", "{}")),
    Line("drop_draft", KEEP, lambda log, by, w: log.drop_draft(by, "a form")),
    Line("save_preferences", KEEP, lambda log, by, w: log.save_preferences(by, {"mm": "mm"})),
    Line("set_pin", KEEP, lambda log, by, w: log.set_pin(by, PIN, by), "of one's own"),
    Line("release", BENCH, lambda log, by, w: log.release(w.own, by, "", NOW), "on own coupons"),
    Line("release", LEAD, lambda log, by, w: log.release(w.others, by, "", NOW), "on another's"),
    Line(
        "correct_coupon",
        BENCH,
        lambda log, by, w: log.correct_coupon(
            w.mine.number, replace(w.mine.coupon, notes="x"), by, "misread", NOW
        ),
        "of one's own",
    ),
    Line(
        "correct_coupon",
        LEAD,
        lambda log, by, w: log.correct_coupon(
            w.anothers.number, replace(w.anothers.coupon, notes="x"), by, "misread", NOW
        ),
        "of another's",
    ),
    Line("add_coupon", BENCH, lambda log, by, w: log.add_coupon(ASIDE, by, NOW)),
    Line(
        "import_coupons",
        BENCH,
        lambda log, by, w: log.import_coupons([replace(ASIDE, job="RO 3")], by, NOW),
    ),
    Line("add_photo", BENCH, lambda log, by, w: log.add_photo(w.anothers.number, PHOTO, by)),
    Line("fit_caps", BENCH, lambda log, by, w: log.fit_caps("gun 1", CAPS, NOW, by)),
    Line("dress", BENCH, lambda log, by, w: log.dress("gun 1", NOW, by)),
    Line("repair", BENCH, lambda log, by, w: log.repair("gun 1", NOW, by)),
    Line(
        "save_joint",
        BENCH,
        lambda log, by, w: log.save_joint(w.joint("wheelhouse", "gun 1"), by),
    ),
    Line("close_job", BENCH, lambda log, by, w: log.close_job("RO 9", by)),
    Line(
        "add_check",
        BENCH,
        lambda log, by, w: log.add_check(w.own, "dust_off", Answer.DONE, None, by),
    ),
    Line(
        "add_recommendation",
        BENCH,
        lambda log, by, w: log.add_recommendation(
            MakerRecommendation("gun 1", THIN, "manual", "7", "9 kA", by, NOW)
        ),
    ),
    Line(
        "save_template",
        BENCH,
        lambda log, by, w: log.save_template("usual sill", w.joint("sill", "gun 1"), by),
    ),
    Line("drop_template", BENCH, lambda log, by, w: log.drop_template("dropped", by)),
    Line(
        "start_clock",
        BENCH,
        lambda log, by, w: log.start_clock(EPOXY.name, "sill", datetime.now(UTC), 20.0, by),
    ),
    Line(
        "add_temperature",
        BENCH,
        lambda log, by, w: log.add_temperature(w.clocks[0], 21.0, datetime.now(UTC), by),
    ),
    Line("stop_clock", BENCH, lambda log, by, w: log.stop_clock(w.clocks[1], by)),
    Line(
        "undo_coupon",
        BENCH,
        lambda log, by, w: log.undo_coupon(log.add_coupon(ASIDE, by, NOW).number, by, NOW),
    ),
    Line("void_coupon", LEAD, lambda log, by, w: log.void_coupon(w.aside, by, "cut wrong", NOW)),
    Line("settle", LEAD, lambda log, by, w: log.settle("gun 1", NOW, by, "new cable")),
    Line("save_rules", LEAD, lambda log, by, w: log.save_rules(ShopRules(), by)),
    Line(
        "save_machine",
        LEAD,
        lambda log, by, w: log.save_machine(replace(w.log.machine("gun 2"), mains_hz=60.0), by),
    ),
    Line(
        "save_adhesive",
        LEAD,
        lambda log, by, w: log.save_adhesive(replace(EPOXY, note="x"), by),
    ),
    Line("add_welder", LEAD, lambda log, by, w: log.add_welder("Newcomer", by)),
    Line("set_role", LEAD, lambda log, by, w: log.set_role(ROBIN, Role.TRAINER, by)),
    Line("set_pin", LEAD, lambda log, by, w: log.set_pin(ALEX, PIN, by), "of another's"),
    Line("set_email", LEAD, lambda log, by, w: log.set_email(ALEX, "a@b", by)),
    Line("unlock", LEAD, lambda log, by, w: log.unlock(ROBIN, by)),
    Line("leave", LEAD, lambda log, by, w: log.leave("Spare", by)),
    Line("come_back", LEAD, lambda log, by, w: log.come_back("Spare", by)),
    Line("bring_in", LEAD, lambda log, by, w: log.bring_in(w.whole_log(), by)),
    Line("try_bringing_in", LEAD, lambda log, by, w: log.try_bringing_in(w.whole_log(), by)),
    # Last, because of what they leave behind.
    Line("mark_copy", LEAD, lambda log, by, w: log.mark_copy(by)),
    Line("mark_demo", LEAD, lambda log, by, w: log.mark_demo(by)),
    Line("close", DOOR, lambda log, by, w: log.close()),
]


def test_every_public_method_has_a_line_that_calls_it():
    public = {name for name, _ in inspect.getmembers(Log) if not name.startswith("_")}
    assert {line.method for line in LINES} == public
    assert [line for line in LINES if line.method not in line.call.__code__.co_names] == []
    labels = [line.label for line in LINES]
    assert len(set(labels)) == len(labels)


#: What writes nothing that a page reads of the shop.
UNSEALED = {
    "start_clock",
    "add_temperature",
    "stop_clock",
    "unlock",
    "bring_in",  # what is there already
    "try_bringing_in",
    "mark_copy",
    "mark_demo",
}


def test_every_writing_shows_in_the_newest_seals(log):
    world = World(log, BY)
    mine = log.used_by(Trust.OPERATOR)
    unseen = set()
    for line in (each for each in LINES if each.who in {BENCH, LEAD}):
        before = mine.newest_seals()
        line.call(mine, BY, world)
        if mine.newest_seals() == before:
            unseen.add(line.label)
    assert unseen == UNSEALED


@dataclass(frozen=True)
class Actor:
    """Somebody who tries everything; `says` is what they are told where they may not."""

    by: str
    may: set
    says: str = ""
    trust: Trust = Trust.SIGNED_IN
    visitor: str | None = None

    def outcomes(self, log, world):
        """Return what came of each line."""
        seen = log.used_by(self.trust, self.by if self.visitor is None else self.visitor)
        return {line.label: self._outcome(line, seen, world) for line in LINES}

    def _outcome(self, line, seen, world):
        try:
            line.call(seen, self.by, world)
        except RoleError as error:
            return self.says if self.says and self.says in str(error) else str(error)
        return "allowed"

    def expected(self):
        return {line.label: "allowed" if line.who in self.may else self.says for line in LINES}


WELDER = Actor(KIM, EVERYTHING - {LEAD}, f"takes a lead; {KIM} is a welder: ask a lead to do it")
TRAINER = Actor(
    TARA,
    {DOOR, READ, KEEP},
    f"is not for a trainer ({TARA}) in the shop's own log; open a practice",
)
LEADER = Actor(BY, EVERYTHING)
OPERATOR = Actor(KIM, EVERYTHING, "", Trust.OPERATOR)
UNKNOWN = Actor("Nobody", {DOOR, READ}, "Nobody is not in the shop's list of people")
OUT = Actor(BY, {DOOR}, "nobody is signed in; sign in with your name and PIN", Trust.SIGNED_OUT)
ELSE = Actor(BY, {DOOR, READ}, f"{KIM} is signed in; {BY} has to sign in to write", visitor=KIM)
LEFT = Actor(GONE, {DOOR, READ}, f"{GONE} has left the shop; a lead can enter the name again")
KNOWN = {
    "welder": WELDER,
    "lead": LEADER,
    "trainer": TRAINER,
    "operator": OPERATOR,
}
NAMELESS = {
    "unknown": UNKNOWN,
    "unknown and picked": replace(UNKNOWN, trust=Trust.PICKED),
    "signed out": OUT,
    "somebody else": ELSE,
    "left": LEFT,
}


@pytest.fixture(autouse=True)
def photos_aside(monkeypatch, tmp_path):
    """Photos go in the test's own folder."""
    monkeypatch.setenv("ADVISOR_DATA_DIR", str(tmp_path))


def turn_into(log, **kind):
    with log._writer.begin() as connection:
        connection.execute(update(shop).values(**kind))


@pytest.mark.parametrize("actor", KNOWN.values(), ids=KNOWN)
def test_in_the_shops_own_log(log, actor):
    world = World(log, actor.by)
    assert actor.outcomes(log, world) == actor.expected()


def test_who_is_nobody_here_may_nothing(log):
    world = World(log, BY)
    outcomes = {who: actor.outcomes(log, world) for who, actor in NAMELESS.items()}
    assert outcomes == {who: actor.expected() for who, actor in NAMELESS.items()}


@pytest.mark.parametrize(("kind", "actor"), [("is_demo", WELDER), ("is_copy", TRAINER)])
def test_who_is_known_may_everything_in_a_demo_and_in_a_practice_copy(log, kind, actor):
    turn_into(log, **{kind: True})
    world = World(log, actor.by)
    assert UNKNOWN.outcomes(log, world) == UNKNOWN.expected()
    everything = replace(actor, may=EVERYTHING, says="")
    assert everything.outcomes(log, world) == everything.expected()
