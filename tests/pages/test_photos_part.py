"""Photos on the page *Log a coupon* and in the record: seen first, kept once, never in the way."""

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from page_helpers import box, fill_coupon, html, opened, press, stack, told
from photo_examples import HEIC, OWNER, photo, photo_with_place
from streamlit.testing.v1 import AppTest

from advisor.coupons.coupon import Coupon, InterfaceResult
from advisor.coupons.photo import read_photo
from advisor.pages.parts import photos as part
from advisor.pages.parts.photos import CAMERA
from advisor.pages.parts.record import gather
from advisor.record.files import to_json
from advisor.record.pdf import job_pdf
from advisor.store.photos import MOST_PHOTOS
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.failure import FailureType
from advisor.weld.setting import Setting
from advisor.weld.stack import AdhesiveState

WET = stack(1.2, 1.0, state=AdhesiveState.WET)
SCRIPT = """
from advisor.pages.parts import photos
from advisor.pages.session import current
photos.photo_part(current(), {number})
"""
NASTY_NAME = "../../<img src=x onerror=alert(1)>.jpg"


@pytest.fixture(autouse=True)
def no_previews():
    """Forget what other tests have looked at: a preview is made once for a photo."""
    part._preview.clear()


@pytest.fixture
def logged(wet_joint):
    """A log with two coupons of one job."""
    for minutes in (5, 0):
        made = datetime.now(UTC) - timedelta(minutes=minutes)
        size = InterfaceResult(4.4, 4.8, FailureType.BUTTON)
        caps = Electrode(CapShape.DOME, 6)
        wet_joint.add_coupon(
            Coupon(made, "Sam", "Bay gun", caps, WET, Setting(9, 200, 3), (size,), job="RO-1"),
            "Sam",
        )
    return wet_joint


def unfolded(number=1):
    app = AppTest.from_string(SCRIPT.format(number=number), default_timeout=30)
    app.session_state[f"photo-of·{number}"] = True
    app.run()
    assert not app.exception
    return app


def choose(app, data, name="photo.jpg", media="image/jpeg"):
    app.file_uploader[0].set_value((name, data, media)).run()
    assert not app.exception


def keep(app, number=1):
    press(app, f"Keep this photo with coupon #{number}")


def shown(app):
    return [each.proto.imgs[0].alt for each in app.get("image")]


def said(app):
    return [each.value for each in app.success]


def files(folder):
    return [each for each in Path(folder).rglob("photos/**/*") if each.is_file()]


def test_nothing_is_asked_or_read_before_it_is_unfolded(logged):
    logged.add_photo(1, photo(1), "Sam")
    app = AppTest.from_string(SCRIPT.format(number=1), default_timeout=30).run()
    assert [each.label for each in app.expander] == ["Photo of this coupon"]
    assert not app.file_uploader
    assert shown(app) == []


def test_a_photo_is_seen_then_kept_then_shown(logged, folder):
    app = unfolded()
    choose(app, photo_with_place(1))
    assert shown(app) == ["Photo to be kept with coupon #1"]
    assert logged.photos(1) == []  # nothing is kept before it is wanted
    keep(app)
    assert said(app) == ["The photo is kept with coupon #1."]
    (kept,) = logged.photos(1)
    assert kept.by == "Sam"
    (alt,) = shown(app)
    assert alt.startswith("Photo 1 of coupon #1, ")
    assert alt.endswith(", by Sam")
    assert OWNER not in files(folder)[0].read_bytes()
    # The entry is empty for the next one, and the word of success is said once.
    assert not [b for b in app.button if b.label.startswith("Keep this photo")]
    app.run()
    assert said(app) == []


def test_the_same_photo_again_is_no_second_one(logged):
    app = unfolded()
    for _ in range(2):
        choose(app, photo(1))
        keep(app)
    assert len(logged.photos(1)) == len(shown(app)) == 1


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (HEIC, "the file is a HEIC photo"),
        (b"<svg><script>alert(1)</script></svg>", "the file is an SVG drawing"),
        (photo(1)[:900], "the JPEG file is incomplete or damaged"),
    ],
    ids=["heic", "svg", "cut"],
)
def test_what_is_no_photo_is_refused_with_the_reason(logged, data, says):
    app = unfolded()
    choose(app, data, "photo.heic", "image/heic")
    assert any(text.startswith(says) for text in told(app))
    assert not [b for b in app.button if b.label.startswith("Keep this photo")]
    assert "alert(1)" not in html(app)


def test_a_script_in_a_file_s_name_does_not_matter(logged, folder):
    app = unfolded()
    choose(app, photo(1), NASTY_NAME)
    keep(app)
    (kept,) = logged.photos(1)
    assert [each.name for each in files(folder)] == [f"{kept.sha256}.jpg"]
    assert "onerror" not in html(app)
    assert not any("onerror" in alt for alt in shown(app))


def test_a_full_coupon_takes_no_more(logged):
    for seed in range(MOST_PHOTOS):
        logged.add_photo(1, photo(seed, size=(40, 30)), "Sam")
    app = unfolded()
    assert len(shown(app)) == MOST_PHOTOS
    assert not app.file_uploader
    assert any("12 photos of coupon #1 are kept" in each.value for each in app.caption)


def test_a_refusal_of_the_log_keeps_what_was_chosen(logged):
    app = unfolded()
    choose(app, photo(99))
    for seed in range(MOST_PHOTOS - 1):
        logged.add_photo(1, photo(seed, size=(40, 30)), "Sam")
    shop_folder = logged.photo_folder()
    shop_folder.rename(shop_folder.with_name("elsewhere"))
    shop_folder.write_text("in the way")
    keep(app)
    assert any("the folder of the photos cannot be used" in text for text in told(app))
    assert len(logged.photos(1)) == MOST_PHOTOS - 1
    assert "Photo to be kept with coupon #1" in shown(app)


def test_a_lost_photo_is_a_sentence_between_the_others(logged, folder):
    for seed in (1, 2):
        logged.add_photo(1, photo(seed), "Sam")
    first = logged.photos(1)[0].sha256
    next(each for each in files(folder) if first in each.name).unlink()
    app = unfolded()
    assert len(shown(app)) == 1
    assert any(f"photo {first[:12]} of coupon #1: its file is missing" in t for t in told(app))


def test_the_camera_is_asked_for_only_when_it_is_wanted(logged):
    app = unfolded()
    assert not app.camera_input
    next(each for each in app.toggle if each.label == CAMERA).set_value(True).run()
    assert not app.file_uploader
    app.camera_input[0].set_value(("shot.jpg", photo(1), "image/jpeg")).run()
    assert shown(app) == []  # the camera shows its own picture
    keep(app)
    assert logged.photos(1)[0].sha256 == read_photo(photo(1)).sha256
    assert app.camera_input  # it stays on for the next one


def test_a_verdict_comes_first_and_offers_the_photo_folded(wet_joint):
    app = opened("coupon")
    fill_coupon(app)
    press(app, "Judge and keep")
    assert "PASS" in html(app)
    assert "Photo of this coupon" in [each.label for each in app.expander]
    assert not app.file_uploader
    assert wet_joint.photos(1) == []


def test_the_newest_coupon_or_any_other_gets_a_photo_later(logged):
    app = AppTest.from_string(
        "from advisor.pages.shell import run\nrun('coupon')", default_timeout=30
    )
    app.session_state["photos-of"] = True
    app.run()
    number = box(app, "Photos of coupon number")
    assert number.value == 2
    number.set_value(1).run()
    assert any(each.value.startswith("#1 pass") for each in app.markdown)
    choose(app, photo(1))
    keep(app)
    assert len(logged.photos(1)) == 1
    assert logged.photos(2) == []
    box(app, "Photos of coupon number").set_value(77).run()
    assert "there is no coupon #77" in told(app)


def test_the_record_has_the_photos_and_the_state_of_the_log(logged, folder):
    kept = [logged.add_photo(number, photo(number), "Sam") for number in (1, 2)]
    made = gather(logged, "RO-1", "Corner shop", "Testford", "Sam")
    assert [each.photos[0].sha256 for each in made.coupons] == [each.sha256 for each in kept]
    assert not any(each.photos[0].is_lost for each in made.coupons)
    assert made.log_seal == logged.last_seal()
    assert logged.holds_seal(json.loads(to_json(made))["log_seal"])
    files(folder)[0].write_bytes(b"changed")
    made = gather(logged, "RO-1", "Corner shop", "Testford", "Sam")
    assert sorted(each.photos[0].is_lost for each in made.coupons) == [False, True]
    assert job_pdf(made).startswith(b"%PDF")
