"""Next setting: the coupon to weld, what it should give, and the reasons behind it."""

import json
import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from page_helpers import fill_coupon, html, opened, press, stack, told

from advisor.coupons.coupon import Coupon, InterfaceResult
from advisor.coupons.joint import Joint
from advisor.learning.advice import Advice
from advisor.learning.model import MachineModel
from advisor.pages.parts import charts
from advisor.store.coupon_reading import CouponReading
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.failure import FailureType
from advisor.weld.machine import Machine
from advisor.weld.setting import Setting
from advisor.weld.stack import AdhesiveState

WET = stack(1.2, 1.0, state=AdhesiveState.WET)
CAPS = Electrode(CapShape.DOME, 6)
OTHER_GUN = Machine("Old gun", 13, 5)


@pytest.fixture
def database():
    """What the page says of advice does not depend on where the log is kept."""
    return "sqlite"


def weld(log, current_kA, size_mm, hours_ago, machine="Bay gun", **changes):
    """Log a wet coupon of another job."""
    coupon = Coupon(
        made_at=datetime.now(UTC) - timedelta(hours=hours_ago),
        welder="Sam",
        machine=machine,
        electrode=CAPS,
        stack=WET,
        setting=Setting(current_kA, 180, 2.5, 300, 200),
        results=(InterfaceResult(size_mm, size_mm, FailureType.BUTTON),),
        job="RO-0",
    )
    return log.add_coupon(replace(coupon, **changes), "Sam")


def learned(log):
    """What the learning rooms say, asked without the page."""
    coupons, rules = log.coupons_for_learning("Bay gun"), log.rules()
    model = MachineModel(rules).fit(coupons)
    return Advice(model, WET, log.machine("Bay gun"), CAPS, rules, coupons)


def card(app):
    """The card of the next coupon, tags and all."""
    (found,) = (e.body for e in app.get("html") if re.match(r'<div class="card \w+ next">', e.body))
    return found


def dials(shown):
    return re.findall(r"<b>([\d.]+) <i>(\w+)</i></b>", shown)


def open_reasons(app):
    app.session_state["why·joint1"] = True
    app.run()
    assert not app.exception
    return [json.loads(e.proto.spec) for e in app.get("vega_lite_chart")]


def test_the_card_gives_the_next_coupon_and_why(wet_joint):
    following = learned(wet_joint).next_coupon
    shown = card(opened("setting"))
    assert "Weld this coupon next" in shown
    assert dials(shown) == [
        (f"{following.setting.current_kA:.1f}", "kA"),
        (f"{following.setting.weld_ms:.0f}", "ms"),
        (f"{following.setting.force_kN:.2f}", "kN"),
    ]
    assert "A starting setting for a coupon, not for the vehicle." in shown
    assert following.reason in shown
    assert re.search(r"Chance of a sound weld \d+ %</b>, of throwing metal out", shown)
    assert re.search(
        r"Expected size [\d.]+ mm, nine coupons in ten between .* minimum 4.00 mm", shown
    )


def test_a_passing_setting_goes_before_the_likeliest_one_and_the_card_says_so(wet_joint):
    for hours, (current, size) in enumerate([(9.6, 5.2), (8.8, 4.9)]):
        weld(wet_joint, current, size, 10 - hours)
    found = learned(wet_joint)
    passing, likeliest = found.next_coupon.setting, found.suggestion.setting
    assert (passing.current_kA, passing.same_as(likeliest)) == (8.8, False)
    shown = card(opened("setting"))
    assert dials(shown)[0] == ("8.8", "kA")
    assert "It passed: weld the same again" in shown
    assert re.search(
        rf"Likeliest to be sound, \d+ %, would be {likeliest.current_kA:.1f} kA", shown
    )


@pytest.fixture
def proven(wet_joint):
    """Passes in a row of another job: the setting is proven, the joint is not covered."""
    for hours in (9, 8, 7, 6):
        weld(wet_joint, 9.4, 4.9, hours)
    assert learned(wet_joint).next_coupon.stop
    return wet_joint


def test_a_proven_setting_is_called_so_and_the_joint_still_gets_its_coupons(proven):
    app = opened("setting")
    assert "bonded-joint test missing" in html(app)
    shown = card(app)
    assert "Proven: 4 coupons passed in a row" in shown
    assert "Only a covered joint may be welded with it." in shown
    assert "This joint has 0 of the 2 coupons it needs: weld the rest with this setting." in shown
    assert "Stop" not in shown


def test_a_covered_joint_shows_its_own_setting_alone_until_asked(proven):
    for hours in (5, 4):
        weld(proven, 9.4, 4.9, hours, job="RO-1")
    app = opened("setting")
    assert any("weld it with the setting above and no other" in m.value for m in app.markdown)
    assert '"card good next"' not in html(app)
    app.toggle[0].set_value(True).run()
    assert "Proven: 6 coupons passed in a row" in card(app)


def test_the_reasons_are_worked_out_only_once_they_are_opened(wet_joint):
    app = opened("setting")
    assert not app.get("vega_lite_chart")
    assert len(open_reasons(app)) == 3
    said = html(app)
    assert "Rests on table only" in said
    assert "Nothing tested on this machine yet." in said


def layers_of(chart, mark):
    return [each for each in chart["layer"] if each["mark"]["type"] == mark]


def test_maps_tell_coupons_apart_by_shape_and_untested_ground_by_grey(wet_joint):
    weld(wet_joint, 9.4, 4.9, 9)
    weld(wet_joint, 8.2, 3.4, 8)
    weld(wet_joint, 11.0, 4.8, 7, expulsion=True)
    app = opened("setting")
    for chart in open_reasons(app)[:2]:
        ramps = [m["encoding"]["color"]["scale"]["range"] for m in layers_of(chart, "rect")]
        assert ramps == [charts.TESTED, charts.UNTESTED]
        coupons, *proposed = layers_of(chart, "point")
        scale = coupons["encoding"]["shape"]["scale"]
        assert scale["domain"] == [charts.PASS, charts.EXPULSION, charts.FAIL]
        assert len(set(scale["range"])) == 3
        assert proposed
        assert {each["mark"]["filled"] for each in proposed} == {False}
    said = html(app)
    assert "<b>tested near</b>" in said
    assert "<b>not tested</b>" in said
    assert all(f"</b> {word}</span>" in said for word in ("pass", "fail", "expulsion"))


def test_maps_and_their_words_follow_the_person_s_units(wet_joint):
    units = {"current": "A", "time": "cycle", "force": "daN", "length": "in"}
    wet_joint.save_preferences("Sam", {f"unit_{name}": unit for name, unit in units.items()})
    app = opened("setting")
    over_time, over_force, sizes = open_reasons(app)
    titles = [
        (first["encoding"]["x"]["title"], first["encoding"]["y"]["title"])
        for first in (chart["layer"][0] for chart in (over_time, over_force, sizes))
    ]
    assert titles == [
        ("weld current [A]", "weld time [cycles]"),
        ("weld current [A]", "electrode force [daN]"),
        ("weld current [A]", "weld size [in]"),
    ]
    # The machine starts at 2 kA and ends at 13 kA: a current in A lies between 2000 and 13000.
    low, high = over_time["layer"][0]["encoding"]["x"]["scale"]["domain"]
    assert 2000 < low < high < 13_500
    alt = app.get("vega_lite_chart")[0].proto.alt
    assert re.search(r"over current and weld time, at electrode force \d+ daN", alt)
    # 4 mm is 0.157 in.
    assert "minimum 0.157 in" in card(app)


def test_doubt_that_a_coupon_takes_away_is_put_in_words(wet_joint):
    weld(wet_joint, 8.2, 3.4, 9)
    following = learned(wet_joint).next_coupon
    app = opened("setting")
    open_reasons(app)
    share = round(100 * (1 - following.doubt_after_kA / following.doubt_kA))
    assert 1 <= share < 100
    assert f"take about {share} % of the doubt about the window away" in html(app)


@pytest.fixture
def second_gun(wet_joint):
    """A second machine of the shop, with coupons of its own, and how often they were read."""
    wet_joint.save_machine(OTHER_GUN, "Sam")
    for hours in (9, 8, 7):
        weld(wet_joint, 9.6, 4.4, hours, machine="Old gun")
    return wet_joint


def test_other_machines_are_said_to_be_used(second_gun):
    second_gun.save_machine(Machine("Gun without coupons", 13, 5), "Sam")
    app = opened("setting")
    open_reasons(app)
    assert "1 other machine" in html(app)


def test_another_machine_is_fitted_again_only_when_its_coupons_change(second_gun, monkeypatch):
    read, recent = [], CouponReading.recent_coupons

    def counted(self, *args, **named):
        read.append(named.get("machine_name"))
        return recent(self, *args, **named)

    monkeypatch.setattr(CouponReading, "recent_coupons", counted)
    app = opened("setting")
    assert read == ["Old gun"]
    app.run()
    weld(second_gun, 9.6, 4.4, 2)
    app.run()
    assert read == ["Old gun"]
    before = card(app)
    for number in (1, 2):
        second_gun.void_coupon(number, "Sam", "wrong sheet")
    app.run()
    assert read == ["Old gun", "Old gun"]
    assert card(app) != before


def test_a_window_that_is_nowhere_yet_is_said(log):
    log.save_joint(
        Joint("sill", "RO-1", stack(1.2, 1.0, state=AdhesiveState.CURED), "Bay gun"), "Sam"
    )
    app = opened("setting")
    open_reasons(app)
    assert "At no current that may be tried is the chance of a sound weld 90 % yet" in html(app)
    assert any("Cured adhesive insulates" in text for text in told(app))


def test_the_verdict_offers_the_next_coupon(wet_joint):
    app = opened("coupon")
    fill_coupon(app)
    press(app, "Judge and keep")
    assert any("weld and test 1 more at the same setting" in m.value for m in app.markdown)
    (again,) = (button for button in app.button if button.label == "Same setting again")
    assert again.proto.type == "primary"


def test_the_verdict_on_a_proven_setting_keeps_to_it(proven):
    app = opened("coupon")
    fill_coupon(app, 4.7, 5.1)
    press(app, "Judge and keep")
    said = " ".join(m.value for m in app.markdown)
    assert "Proven: 5 coupons passed in a row." in said
    assert "This joint has 1 of the 2 coupons it needs" in said
    assert "card trial" not in html(app)
