"""The whole log on the page Files: told up front who may, a preview first, then the button."""

import io

import pytest
from exchange_makers import BY, fill
from page_helpers import opened, press, told

from advisor.exchange.log_file import LogFile
from advisor.store.log import open_log


@pytest.fixture
def elsewhere(tmp_path):
    """The exported log of another shop."""
    shop = fill(open_log(f"sqlite:///{tmp_path / 'elsewhere.sqlite'}", "Bay A"))
    file = io.BytesIO()
    shop.export_json_lines(file)
    shop.close()
    return file.getvalue()


def upload(app, data, name="log.jsonl"):
    """Give the second uploader of the page a file: the first is for coupons."""
    app.file_uploader[1].set_value((name, data, "application/octet-stream")).run()
    assert not app.exception
    return app


def texts(app):
    return [element.value for element in app.text]


def test_a_lead_sees_what_is_new_before_anything_is_stored(log, elsewhere):
    app = upload(opened("files"), elsewhere)
    assert texts(app)[0] == ("Log of Bay A: 53 records are new, 1 are here already, no problems.")
    assert list(log.iter_coupons()) == []
    table = app.dataframe[0].value
    assert table[table["kind"] == "coupon revision"]["new"].tolist() == [8]
    press(app, "Bring in 53 records")
    assert [each.number for each in log.iter_coupons()] == [1, 2, 3, 4, 5, 6]
    assert app.toast[0].value == "53 records brought in."
    assert texts(app)[0].startswith("Log of Bay A: 0 records are new, 54 are here already")
    assert next(b for b in app.button if b.label == "Bring in 0 records").disabled


def test_what_a_person_has_to_know_is_told_with_the_counts(log, elsewhere):
    app = upload(opened("files"), elsewhere)
    press(app, "Bring in 53 records")
    assert not any("machine gun 1" in text for text in texts(app))
    changed = elsewhere.replace(b'"largest_current_kA":40.0', b'"largest_current_kA":39.0')
    upload(app, changed)
    assert "machine gun 1 differs here from the file; it stays as it is" in texts(app)


def test_a_welder_is_told_before_any_work(log):
    log.add_welder("Kim", "Sam")
    app = opened("files")
    app.session_state["who"] = "Kim"
    app.run()
    assert "Kim is no lead in this shop; ask a lead to bring the file in." in told(app)
    assert len(app.file_uploader) == 1
    app.session_state["who"] = ""
    app.query_params.clear()
    app.run()
    assert "Choose your name at the top first." in told(app)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda data: b"made_at,welder\n", "line 1: it is no JSON"),
        (lambda data: data[:-40], "it is no JSON"),
        (lambda data: data.replace(b'"pulses":1,', b'"pulses":"1",'), "pulses is '1'; it must be"),
        (lambda data: b"PK", "the zip file is damaged or cut off"),
    ],
)
def test_problems_are_listed_and_there_is_no_button(log, elsewhere, change, words):
    app = upload(opened("files"), change(elsewhere))
    assert any("Nothing can be brought in" in text for text in told(app))
    assert any(words in text for text in texts(app))
    assert not any(button.label.startswith("Bring in") for button in app.button)
    assert log.is_empty() is False
    assert list(log.iter_coupons()) == []


def test_the_first_file_of_an_empty_shop_needs_a_name(folder, elsewhere):
    app = opened("files")
    app = upload(app, elsewhere)
    assert "Give your name, then the file is looked at." in told(app)
    next(t for t in app.text_input if t.label.startswith("Your name")).set_value("Robin").run()
    press(app, "Bring in 54 records")
    log = open_log()
    assert log.changes(1)[0].who == "Robin"
    assert log.welders() == ["Kim", BY, "Robin"]
    log.close()


def test_the_downloads_hold_the_whole_log(log):
    buttons = opened("files").get("download_button")
    assert [each.proto.label for each in buttons] == [
        "All coupons as CSV",
        "Everything as JSON Lines",
        "Everything as CSV (zip)",
    ]
    file = io.BytesIO()
    log.export_tables(file)
    assert LogFile(file).header.records["machine"] == 1
