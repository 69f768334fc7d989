"""Texts that somebody might run come back as text: from the log, its files and its prints."""

import csv
import io
import json
import zipfile
from dataclasses import replace
from datetime import timedelta

import pytest
from exchange_makers import all_reads
from fpdf import FPDF
from hostile_texts import (
    BY,
    FORMULAS,
    MADE,
    TEXTS,
    as_name,
    coupon_of,
    enter,
    glue,
    stack_of,
    start,
)
from pypdf import PdfReader
from pypdf.generic import DictionaryObject

from advisor.csv_cells import unguarded
from advisor.errors import AdvisorError
from advisor.exchange.log_file import LogFile
from advisor.pages.parts.record import gather
from advisor.record.files import to_csv, to_json
from advisor.record.labels import labels_pdf
from advisor.record.pdf import job_pdf
from advisor.record.text import printable
from advisor.store.base import Trust
from advisor.store.log import open_log
from advisor.store.reviewing import Which
from advisor.weld.stack import AdhesiveState

NOW = MADE + timedelta(hours=1)
#: What a reader of PDF would do by itself or at a touch.
ACTIONS = {"/JavaScript", "/JS", "/URI", "/Launch", "/SubmitForm", "/AA", "/Annots"}


@pytest.fixture
def shop(url):
    """A shop with every text in every field, and one that has nothing to do with them."""
    opened = start(open_log(url, "Bay A"))
    enter(opened, "plain")
    for text in TEXTS:
        enter(opened, text)
    yield opened
    opened.close()


@pytest.fixture(scope="module")
def sqlite_shop(tmp_path_factory):
    """The same in a file, for reading only."""
    opened = start(open_log(f"sqlite:///{tmp_path_factory.mktemp('shop') / 'log.sqlite'}"))
    for text in TEXTS:
        enter(opened, text)
    yield opened
    opened.close()


def test_every_field_gives_every_text_back_and_the_log_is_sound(shop):
    names = {as_name(text) for text in ("plain", *TEXTS)}
    assert set(shop.welders()) == {BY, *names}
    assert {each.name for each in shop.machines()} == names
    assert {each.name: each for each in shop.adhesives()} == {
        as_name(text): glue(text) for text in ("plain", *TEXTS)
    }
    assert set(shop.jobs()) == names
    assert set(shop.templates()) == names
    for text in ("plain", *TEXTS):
        assert_machine_and_joints(shop, text)
        assert_coupons(shop, text)
    clocks = shop.clocks_since(MADE - timedelta(days=1))
    assert {clock.used_for for clock in clocks} == {text.strip() for text in ("plain", *TEXTS)}
    assert shop.verify().is_sound


def assert_machine_and_joints(log, text):
    name = as_name(text)
    assert log.machine(text).name == name
    repaired, fitted = log.events(text)
    assert (repaired.note, fitted.electrode.material) == (text, text)
    wet, cured = sorted((each.joint for each in log.joints(text)), key=lambda each: len(each.name))
    assert (wet.name, wet.job, wet.machine, wet.stack) == (text, name, name, stack_of(text))
    assert cured.name == f"{text} c"
    said = log.recommendation(name, stack_of(text, AdhesiveState.CURED))
    assert (said.document, said.page, said.settings) == (text.strip(),) * 3


def assert_coupons(log, text):
    coupons = sorted(log.recent_coupons(job=as_name(text)), key=lambda each: each.number)
    assert [each.coupon.notes for each in coupons] == [text] * 3
    made = coupons[2].coupon
    assert made == coupon_of(text, made.made_at)
    assert coupons[0].voided == text.strip()
    last = log.history(coupons[1].number)[-1]
    assert (last.why, last.by) == (text.strip(),) * 2
    (release,) = [state.release for state in log.joint_states(text, NOW) if state.release]
    assert (release.by, release.note) == (text.strip(),) * 2


def test_asking_by_such_a_name_finds_nothing_else(url):
    log = start(open_log(url))
    enter(log, "plain")
    before = all_reads(log)
    for text in TEXTS:
        assert log.recent_coupons(job=text) == []
        assert log.recent_coupons(machine_name=text) == []
        assert log.joints(text) == []
        assert log.pass_counts("welder", Which(welder=text)).empty
        assert log.draft(text, text) is None
    assert all_reads(log) == before
    log.close()


def test_drafts_and_preferences_keep_every_text(shop):
    for text in TEXTS:
        shop.save_draft(text, text, json.dumps({text: text}))
        shop.save_preferences(text, {"record_shop": text})
    for text in TEXTS:
        assert json.loads(shop.draft(text, text).body) == {text: text}
        assert shop.preferences(text)["record_shop"] == text


@pytest.mark.parametrize("way", ["json_lines", "tables"])
def test_the_whole_log_goes_out_and_in_with_every_text(shop, url, way):
    file = io.BytesIO()
    getattr(shop, f"export_{way}")(file)
    other = open_log(url, "Bay B")
    other.used_by(Trust.OPERATOR).bring_in(LogFile(file), BY)
    one, two = all_reads(shop), all_reads(other)
    two["changes"] = two["changes"][1:]
    for what, said in one.items():
        assert two[what] == said, what
    assert other.verify().is_sound
    other.close()


def cells(data):
    (header, *rows) = csv.reader(io.StringIO(data.decode("utf-8"), newline=""))
    assert all(len(row) == len(header) for row in rows)
    return [cell for row in rows for cell in row]


def assert_no_formula(found):
    for cell in found:
        assert cell.lstrip()[:1] not in ("=", "@")
        assert cell[:1] not in ("\t", "\r", "\n")
        if cell.lstrip()[:1] in ("+", "-"):
            float(cell)


def test_no_cell_of_the_whole_log_is_a_formula_to_a_spreadsheet(sqlite_shop):
    file = io.BytesIO()
    sqlite_shop.export_tables(file)
    with zipfile.ZipFile(file) as packed:
        names = [name for name in packed.namelist() if name.endswith(".csv")]
        found = [cell for name in names for cell in cells(packed.read(name))]
    assert_no_formula(found)
    assert set(TEXTS) <= set(map(unguarded, found))
    assert {f"'{text}" for text in FORMULAS} <= set(found)


def record_of(log, text):
    return gather(log, as_name(text), text, text, text, NOW)


def test_the_record_s_files_hold_every_text_and_no_formula(sqlite_shop):
    for text in TEXTS:
        record = record_of(sqlite_shop, text)
        found = cells(to_csv(record))
        assert_no_formula(found)
        assert [unguarded(cell) for cell in found].count(text) >= 10
        said = json.loads(to_json(record))
        assert (said["job"], said["shop"], said["printed_by"]) == (as_name(text), text, text)
        assert text in [each["note"] for each in said["adhesives"]]


def test_the_print_holds_every_text_and_runs_nothing(sqlite_shop):
    for text in TEXTS:
        record = record_of(sqlite_shop, text)
        job, labels = job_pdf(record), labels_pdf([each.logged for each in record.coupons], NOW)
        for data in (job, labels):
            root = PdfReader(io.BytesIO(data)).trailer["/Root"]
            assert not ACTIONS & set(named(root, set()))
        assert read_back(job).count(squeezed(printable(text))) >= 10, text


def read_back(pdf):
    return squeezed("".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages))


def squeezed(text):
    """Return a text without blanks: where a line breaks on paper is no matter here."""
    return "".join(text.split())


def named(thing, seen):
    """Return every key and name in a part of a PDF document, parents and pages included."""
    thing = thing.get_object()
    if id(thing) in seen:
        return
    seen.add(id(thing))
    if isinstance(thing, DictionaryObject):
        for key, value in thing.items():
            yield key
            yield from named(value, seen)
    elif isinstance(thing, list):
        for value in thing:
            yield from named(value, seen)
    else:
        yield str(thing)


def test_an_action_in_a_print_would_be_found():
    pdf = FPDF()
    pdf.add_page()
    pdf.set_font("helvetica", size=8)
    pdf.cell(text="x", link="http://example.invalid")
    root = PdfReader(io.BytesIO(bytes(pdf.output()))).trailer["/Root"]
    assert {"/Annots", "/URI"} <= set(named(root, set()))


def test_a_refusal_repeats_the_text_and_changes_nothing(sqlite_shop):
    before = all_reads(sqlite_shop)
    for text in TEXTS:
        with pytest.raises(AdvisorError, match=r"^no machine|machine .* is not") as refused:
            sqlite_shop.add_coupon(replace(coupon_of(text), machine=f"{text} x"), BY, NOW)
        assert f"{text} x" in str(refused.value)
    assert all_reads(sqlite_shop) == before
