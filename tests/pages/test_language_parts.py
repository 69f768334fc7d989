"""Set-up, files and the parts of pages say every sentence in the reader's language, once."""

import io
import re
from datetime import UTC, datetime, timedelta
from string import Formatter

import pytest
from exchange_makers import fill
from page_helpers import EPOXY, html, opened, press, stack, told
from photo_examples import photo
from said_texts import _nodes, _rest, unsaid
from streamlit.testing.v1 import AppTest

from advisor.bonding.preparation import CHECKS, Answer
from advisor.coupons.coupon import Coupon, InterfaceResult
from advisor.coupons.flat import COLUMNS, to_row
from advisor.coupons.joint import Joint
from advisor.coupons.plan import plan_coupons
from advisor.coupons.recommendation import MakerRecommendation
from advisor.language import ENGLISH, speaking
from advisor.learning.sound import Expected
from advisor.pages.parts import plan, size_bar
from advisor.pages.parts.record import MAKE, _in_english, gather
from advisor.pages.parts.units_choice import UnitChoice
from advisor.record.files import to_csv, to_json
from advisor.store.log import open_log
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.failure import FailureType
from advisor.weld.setting import Setting
from advisor.weld.stack import AdhesiveState

WET, CURED = (stack(1.2, 1.0, state=s) for s in (AdhesiveState.WET, AdhesiveState.CURED))
#: Names in a test's shop, classes of material, numbers of tables and days; "und" is Babel's.
NAMES = re.compile(
    r"\b(\d\d\.? [^\W\d]+\.|(?:DE|Kim|Pillar|CuCrZr|B\.[12]|Bay A|RS \d|p\. \d|und)\b)"
)
SAID = re.compile(r"⟦[^⟦⟧]*⟧")
LETTERS = re.compile(r"[^\W\d_]")
PART = "from advisor.pages.session import current\nsession = current()\n"
TARGET = """
from advisor.pages.parts import joint_choice, why
from advisor.pages.parts.advice import advice, show_joint
target = joint_choice.ask_target(session)
if target is not None:
    show_joint(session, target)
    why.why(session, target, advice(session, target))
"""
PLAN = """
from datetime import UTC, datetime
from advisor.pages.parts import plan
plan.show(session, "RO-1", session.log.joint_states("RO-1", datetime.now(UTC)))
"""
JOINT = """
from advisor.pages.parts import new_joint, preparation, recommendation
new_joint.add_joint(session, ["RO-1"])
for stored in session.log.joints("RO-1"):
    new_joint.correct_joint(session, stored, f"correct{stored.id}")
    new_joint.usual_joint(session, stored.joint, f"usual{stored.id}")
    preparation.show(session, stored.id)
    recommendation.show(session, stored.joint, f"maker{stored.id}")
"""
CLOCKS = """
from advisor.pages.parts import clocks
clocks.strip(session)
clocks.entry(session)
"""
REVISE = """
from advisor.pages.parts import cards, photos, revise
recent = session.log.recent_coupons(9)
import streamlit as st
st.html(cards.latest(recent, session))
revise.revise(session, recent)
photos.photos_part(session, recent)
"""
RECORD = """
from advisor.pages.parts import record
record.show(session, "RO-1")
"""


@pytest.fixture
def database():
    """What the parts say does not depend on where the log is kept."""
    return "sqlite"


class WordsOnly:
    """A catalogue that has only a message's own words in ⟦⟧: what goes into its places shows."""

    def gettext(self, message):
        parts = []
        for words, place, form, how in Formatter().parse(message):
            shown = words.replace("{", "{{").replace("}", "}}")
            parts.append(f"⟦{shown}⟧" if words else "")
            if place is not None:
                parts.append(f"{{{place}{'!' + how if how else ''}{':' + form if form else ''}}}")
        return "".join(parts)

    def ngettext(self, one, many, number):
        return self.gettext(one if number == 1 else many)


@pytest.fixture
def german(monkeypatch):
    """Let everybody read another language, whose words stand in ⟦⟧."""
    monkeypatch.setattr("advisor.language.catalogue", lambda code: WordsOnly())
    monkeypatch.setattr("advisor.language._asked", [lambda: "de"])


def part(script, **state):
    app = AppTest.from_string(PART + script, default_timeout=30)
    for name, value in state.items():
        app.session_state[name] = value
    app.run()
    assert not app.exception
    return app


def weld(log, minutes=0, welded=WET, size_mm=4.9, **more):
    made = datetime.now(UTC) - timedelta(minutes=minutes)
    size = InterfaceResult(size_mm, size_mm, FailureType.BUTTON)
    caps = Electrode(CapShape.DOME, 6)
    coupon = Coupon(made, "Sam", "Bay gun", caps, welded, Setting(9.4, 180, 2.5), (size,), **more)
    with speaking(ENGLISH):
        return log.add_coupon(coupon, "Sam")


@pytest.fixture
def two_joints(wet_joint):
    wet_joint.save_joint(Joint("Pillar", "RO-1", CURED, "Bay gun"), "Sam")
    return wet_joint


def unmarked(app):
    """Return the texts of a page that say something outside of ⟦⟧ besides names and days."""
    described = [getattr(getattr(node, "proto", None), "alt", "") for node in _nodes(app._tree)]
    texts = [*unsaid(app), *described]
    return [text for text in texts if LETTERS.search(_rest(NAMES.sub("", outside(text))))]


def outside(text):
    while (left := SAID.sub(" ", text)) != text:
        text = left
    return text


def test_set_up(log, german):
    log.add_welder("Kim", "Sam")
    log.leave("Kim", "Sam")
    app = opened("shop")
    assert app.title[0].value == "⟦Shop set-up⟧"
    assert [tab.label for tab in app.tabs] == ["⟦Machines⟧", "⟦People⟧", "⟦Adhesives⟧", "⟦Rules⟧"]
    assert unmarked(app) == []
    press(app, "⟦Keep the rules⟧")
    press(app, "⟦Dressed to the same face⟧")
    assert unmarked(app) == []


def test_new_ones_in_the_set_up_and_what_is_missing(log, german):
    app = opened("shop")
    for words in ("⟦Machine⟧", "⟦Adhesive⟧"):
        box = next(s for s in app.selectbox if s.label == words)
        assert box.options[-1] == "⟦a new one …⟧"
        box.set_value("a new one …").run()
    press(app, "⟦Keep the machine⟧")
    assert "⟦give the largest current, the largest force" in " ".join(told(app))
    press(app, "⟦Keep the adhesive⟧")
    assert "⟦give all three time ranges" in " ".join(told(app))
    assert unmarked(app) == []


def test_a_form_that_comes_back_is_said_anew(log, german):
    app = opened("shop")
    next(n for n in app.number_input if "Passes in a row" in n.label).set_value(4).run()
    app = opened("shop")
    again = [each.value for each in app.caption if "What you had typed" in each.value]
    assert len(again) == 1
    with speaking(ENGLISH):
        (draft,) = [log.draft("Sam", "rules")]
    assert "⟦" not in draft.body
    assert unmarked(app) == []
    assert any(b.label == "⟦Empty the form⟧" for b in app.button)


@pytest.mark.parametrize("minutes", [5, 80, 60 * 24 * 4])
def test_clocks_in_every_state(log, german, minutes):
    mixed = datetime.now(UTC) - timedelta(minutes=minutes)
    log.start_clock(EPOXY, "sill", mixed, 21.0, "Sam")
    app = part(CLOCKS)
    assert "⟦" in html(app)
    assert unmarked(app) == []
    press(app, "⟦Start the clock⟧")
    assert told(app) == [
        "⟦Give the panel temperature: it decides how long the adhesive stays wet.⟧"
    ]


def test_a_joint_its_checks_and_the_makers_recommendation(two_joints, german):
    two_joints.add_check(1, CHECKS[0].key, Answer.DONE, None, "Sam")
    two_joints.save_template("sill", two_joints.joint(1).joint, "Sam")
    maker = MakerRecommendation("Bay gun", CURED, "RS 1", "p. 2", "9 kA", "Sam", datetime.now(UTC))
    two_joints.add_recommendation(maker)
    app = part(JOINT, **{"correct1·correct": True})
    start = next(s for s in app.selectbox if s.label == "⟦Start from⟧")
    assert start.options[:2] == ["⟦an empty form⟧", "⟦usual: ⟧sill"]
    assert unmarked(app) == []
    start.set_value("usual: sill").run()
    assert unmarked(app) == []


def test_the_plan_on_the_page_on_paper_and_as_a_file(two_joints, german):
    app = part(PLAN)
    assert "⟦To the bench⟧" in html(app)
    assert unmarked(app) == []
    now, log = datetime.now(UTC), two_joints
    joints = [(each.stored.joint, each.coverage) for each in log.joint_states("RO-1", now)]
    found = plan_coupons(joints, {"Bay gun": log.bench("Bay gun")}, log.rules().coverage, now)
    words = plan.Words(UnitChoice.read({}), {each.name: each for each in log.adhesives()})
    page = plan.print_page(found, words, "RO-1", now)
    assert '<html lang="de">' in page
    assert "⟦Coupons to weld, job ⟧RO-1</title>" in page
    assert "⟦" not in plan.csv_text(found, words.adhesives)


def test_a_target_and_why_a_setting_is_proposed(two_joints, german):
    weld(two_joints, 60)
    app = part(TARGET, **{"why·joint2": True, "why·joint1": True})
    assert app.selectbox[0].options[-1] == "⟦another stack …⟧"
    assert unmarked(app) == []
    app.selectbox[0].set_value(0).run()
    assert unmarked(app) == []
    family = next(s for s in app.selectbox if "⟦aluminium or other metal⟧" in s.options)
    family.set_value("aluminium or other metal").run()
    assert not app.exception
    for box in (n for n in app.number_input if "Sheet" in n.label):
        box.set_value(1.2)
    app.run()
    assert any("is not steel" in text for text in told(app))


def test_correcting_a_coupon(wet_joint, german):
    weld(wet_joint, 9)
    logged = weld(wet_joint)
    wet_joint.void_coupon(logged.number, "Sam", "Kim")
    app = part(REVISE, **{"photos-of": True})
    assert "⟦voided (⟧Kim⟦)⟧" in html(app)
    assert unmarked(app) == []
    number = next(n for n in app.number_input if n.label == "⟦Coupon number⟧")
    number.set_value(1).run()
    assert any(n.label == "⟦Smallest ⌀⟧⟦ of #⟧1 [mm]" for n in app.number_input)
    assert unmarked(app) == []
    press(app, "⟦Correct the result⟧")
    assert unmarked(app) == []


def test_photos(wet_joint, german):
    number = weld(wet_joint).number
    wet_joint.add_photo(number, photo(), "Sam")
    app = part(
        f"from advisor.pages.parts import photos\nphotos.photo_part(session, {number})\n",
        **{f"photo-of·{number}": True},
    )
    app.file_uploader[0].set_value(("a.jpg", photo(), "image/jpeg")).run()
    assert any(b.label == f"⟦Keep this photo with coupon #⟧{number}" for b in app.button)
    assert unmarked(app) == []


def test_a_record_for_people_speaks_and_its_files_stay_english(wet_joint, german, monkeypatch):
    for name in ("job_pdf", "labels_pdf"):  # fonts of a print have no ⟦
        monkeypatch.setattr(f"advisor.pages.parts.record.{name}", lambda *a, **more: b"%PDF")
    weld(wet_joint, job="RO-1")
    app = part(RECORD)
    app.text_input(key="record_shop").set_value("Bay A")
    press(app, f"⟦{MAKE}⟧")
    assert len(app.get("download_button")) == 4
    assert unmarked(app) == []
    record = gather(wet_joint, "RO-1", "Bay A", "", "Sam")
    assert "⟦" in record.joints[0].coverage.detail
    english = _in_english(wet_joint, record)
    assert b"\xe2\x9f\xa6" not in to_json(english) + to_csv(english)


def test_the_bar_of_the_expected_size(german):
    shown = size_bar.size_bar(Expected(4.7, 4.2, 5.3, 4.0, 0.01, 0.9), UnitChoice.read({}))
    assert 'aria-label="⟦Expected size ⟧4,70 mm' in shown
    assert "⟦minimum ⟧4,00 mm" in shown


def test_a_file_with_our_own_columns(log, german):
    row = to_row(weld(log).coupon)
    text = "\n".join([",".join(COLUMNS), ",".join(row[name] for name in COLUMNS)])
    app = opened("files")
    app.file_uploader[0].set_value(("a.csv", text.encode(), "text/csv")).run()
    assert "⟦Weld current⟧" in app.dataframe[0].value.columns
    assert unmarked(app) == []
    press(app, "⟦Import ⟧1⟦ coupons⟧")
    assert "⟦ were in the log already and were left out.⟧" in app.toast[0].value


def test_a_file_with_foreign_columns(log, german, monkeypatch):
    # The daily backup is made beside the page and says where it lies, sooner or later.
    monkeypatch.setattr("advisor.pages.session.keep_backed_up", lambda url: None)
    header, cells = "1,2,3", "9.4,77,88"
    app = opened("files")
    app.file_uploader[0].set_value(("a.csv", f"{header}\n{cells}".encode(), "text/csv")).run()
    assert unmarked(app) == []
    for name, answer in (
        ("current_kA", "1"),
        ("interface1_failure", "2"),
        ("expulsion", "3"),
        ("force_kN", "the same for every row …"),
        ("sheet1_family", "the same for every row …"),
    ):
        app.selectbox(key=f"map·{name}").set_value(answer)
    app.run()
    assert any(s.label == "⟦“⟧77⟦” means⟧" and s.options[0] == "⟦not said⟧" for s in app.selectbox)
    assert any(s.label == "⟦Unit: ⟧⟦Weld current⟧" for s in app.selectbox)
    assert unmarked(app) == []


def test_a_whole_log(log, german, tmp_path, monkeypatch):
    # The daily backup is made beside the page and says where it lies, sooner or later.
    monkeypatch.setattr("advisor.pages.session.keep_backed_up", lambda url: None)
    with speaking(ENGLISH):
        shop = fill(open_log(f"sqlite:///{tmp_path / 'elsewhere.sqlite'}", "Bay A"))
        file = io.BytesIO()
        shop.export_json_lines(file)
        shop.close()
    app = opened("files")
    assert unmarked(app) == []
    app.file_uploader[1].set_value(("a.jsonl", file.getvalue(), "text/plain")).run()
    assert list(app.dataframe[0].value.columns) == ["⟦kind⟧", "⟦new⟧", "⟦known⟧"]
    assert unmarked(app) == []
