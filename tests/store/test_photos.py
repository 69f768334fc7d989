"""Photos in the log: kept once, clean, for good, and beside it in files that are checked."""

import errno
import hashlib
import io
import os
import stat
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Barrier

import pytest
from photo_examples import HEIC, OWNER, photo, photo_with_place
from PIL import Image
from sqlalchemy import select, text
from sqlalchemy.exc import DBAPIError
from store_examples import BY, NOW, PASSING

from advisor.coupons.photo import read_photo
from advisor.errors import InputError, RecordError, RoleError, StoreError
from advisor.people.roles import Role
from advisor.store import photo_files, photos
from advisor.store.base import Trust
from advisor.store.log import open_log
from advisor.store.photos import MOST_PHOTOS
from advisor.store.schema import access, coupon_photo, welder


@pytest.fixture(autouse=True)
def data_folder(tmp_path, monkeypatch):
    """Where the files of a log on a server are; that of a log in a file is the same folder."""
    monkeypatch.setenv("ADVISOR_DATA_DIR", str(tmp_path))
    return tmp_path


@pytest.fixture
def kept(log):
    """A log with a coupon."""
    log.add_coupon(PASSING, "Kim", NOW)
    return log


def files(folder):
    return sorted(each for each in Path(folder).rglob("photos/**/*") if each.is_file())


def file_of(log, sha256, ending=".jpg"):
    return log.photo_folder() / sha256[:2] / f"{sha256}{ending}"


def rows(log):
    with log._engine.begin() as connection:
        return connection.execute(select(coupon_photo.c.sha256)).scalars().all()


@pytest.mark.parametrize(("name", "ending"), [("JPEG", "jpg"), ("PNG", "png"), ("WEBP", "webp")])
def test_a_photo_comes_back_as_it_was_cleaned(kept, data_folder, name, ending):
    given = photo(1, name)
    added = kept.add_photo(1, given, "Kim", NOW)
    clean = read_photo(given)
    assert kept.photos(1) == [added]
    assert kept.photo_data(added.sha256) == clean.data
    assert (added.sha256, added.media, added.bytes) == (clean.sha256, clean.media, len(clean.data))
    assert (added.width_px, added.height_px, added.by, added.at) == (160, 120, "Kim", NOW)
    where = data_folder / "photos" / "1" / added.sha256[:2] / f"{added.sha256}.{ending}"
    assert files(data_folder) == [where]
    assert kept.verify().is_sound


def test_a_photo_with_a_place_comes_out_without(kept, data_folder):
    given = photo_with_place()
    assert OWNER in given
    assert Image.open(io.BytesIO(given)).getexif()
    added = kept.add_photo(1, given, "Kim")
    image = Image.open(io.BytesIO(kept.photo_data(added.sha256)))
    assert not dict(image.getexif())
    (file,) = files(data_folder)
    assert OWNER not in file.read_bytes()
    assert b"Exif" not in file.read_bytes()


def test_what_is_no_photo_is_refused_and_leaves_nothing(kept, data_folder):
    with pytest.raises(InputError, match="HEIC photo"):
        kept.add_photo(1, HEIC, "Kim")
    assert kept.photos(1) == []
    assert files(data_folder) == []


def test_the_same_photo_is_added_once(kept, data_folder):
    given = photo(1)
    first = kept.add_photo(1, given, "Kim", NOW)
    assert kept.add_photo(1, given, BY) == first
    own_file = kept.photo_data(first.sha256)
    assert read_photo(own_file).sha256 != first.sha256  # so only the hash as given can know it
    assert kept.add_photo(1, own_file, BY) == first
    assert kept.photos(1) == [first]
    assert len(files(data_folder)) == 1


def test_two_coupons_may_show_the_same_photo(kept, data_folder):
    kept.add_coupon(PASSING, "Kim", NOW)
    hashes = {kept.add_photo(number, photo(1), "Kim").sha256 for number in (1, 2)}
    assert len(hashes) == len(files(data_folder)) == 1
    assert len(rows(kept)) == 2
    assert kept.verify().is_sound


def test_two_threads_add_the_same_photo(kept, data_folder):
    given, both = photo(1), Barrier(2)

    def add(who):
        both.wait(20)
        return kept.add_photo(1, given, who, NOW)

    with ThreadPoolExecutor(2) as pool:
        one, other = pool.map(add, ("Kim", BY))
    assert one == other
    assert kept.photos(1) == [one]
    assert len(files(data_folder)) == 1
    assert kept.verify().is_sound


def test_a_coupon_has_so_many_photos_and_no_more(kept):
    for seed in range(MOST_PHOTOS):
        kept.add_photo(1, photo(seed, size=(40, 30)), "Kim")
    with pytest.raises(RecordError, match="coupon #1 has 12 photos and no more are kept"):
        kept.add_photo(1, photo(99), "Kim")
    assert len(kept.photos(1)) == MOST_PHOTOS
    kept.add_photo(1, photo(0, size=(40, 30)), "Kim")  # one of the twelve


def test_a_coupon_that_is_not_there_has_no_photos(kept):
    with pytest.raises(RecordError, match="there is no coupon #7"):
        kept.photos(7)
    with pytest.raises(RecordError, match="there is no coupon #7"):
        kept.add_photo(7, photo(), "Kim")


def test_who_may_not_write_adds_no_photo(kept, data_folder, monkeypatch):
    with kept._writer.begin() as connection:
        kim = select(welder.c.id).where(welder.c.name == "Kim").scalar_subquery()
        trainer = {"role": Role.TRAINER.value}
        connection.execute(access.update().where(access.c.welder_id == kim).values(trainer))
    with pytest.raises(RoleError, match="not for a trainer"):
        kept.add_photo(1, photo(), "Kim")
    # A stranger's file is not even looked at.
    monkeypatch.setattr(photos, "read_photo", lambda data: pytest.fail("was decoded"))
    with pytest.raises(RoleError, match="nobody is signed in"):
        kept.used_by(Trust.SIGNED_OUT).add_photo(1, photo(), "Kim")
    assert files(data_folder) == []


REWRITES = {
    "sqlite": "INSERT OR REPLACE INTO coupon_photo SELECT * FROM coupon_photo",
    "postgresql": "TRUNCATE coupon_photo CASCADE",
}


@pytest.mark.parametrize(
    "way", ["UPDATE coupon_photo SET bytes = 1", "DELETE FROM coupon_photo", ""]
)
def test_the_database_refuses_to_rewrite_a_photo(kept, way):
    added = kept.add_photo(1, photo(1), "Kim")
    with (
        pytest.raises(DBAPIError, match="coupon_photo is never changed or deleted"),
        kept._writer.begin() as connection,
    ):
        connection.execute(text(way or REWRITES[connection.dialect.name]))
    assert kept.photos(1)[0].bytes == added.bytes


def test_a_changed_row_is_named(kept):
    kept.add_photo(1, photo(1), "Kim")
    with kept._writer.begin() as connection:
        if connection.dialect.name == "sqlite":
            connection.execute(text("DROP TRIGGER coupon_photo_no_update"))
        else:
            connection.execute(text("ALTER TABLE coupon_photo DISABLE TRIGGER USER"))
        connection.execute(text("UPDATE coupon_photo SET recorded_by = 'Nobody'"))
    lines = kept.verify().lines()
    assert any("coupon photo 1: it does not say what was sealed" in line for line in lines), lines


def test_a_changed_file_is_named(kept):
    sha256 = kept.add_photo(1, photo(1), "Kim").sha256
    file_of(kept, sha256).write_bytes(photo(2))
    with pytest.raises(
        RecordError, match=rf"photo {sha256[:12]} of coupon #1: its file .* changed"
    ):
        kept.photo_data(sha256)
    (fault,) = kept.photo_faults()
    assert fault.startswith(f"photo {sha256[:12]} of coupon #1: its file in ")
    report = kept.verify()
    assert fault in report.lines()
    assert not report.is_sound


def test_a_lost_file_is_named_and_written_again(kept):
    sha256 = kept.add_photo(1, photo(1), "Kim").sha256
    data = kept.photo_data(sha256)
    for again in (photo(1), data):
        file_of(kept, sha256).unlink()
        with pytest.raises(RecordError, match=r"is missing from .*; put the file back"):
            kept.photo_data(sha256)
        assert "is missing from" in next(kept.photo_faults())
        kept.add_photo(1, again, "Kim")
        assert kept.photo_data(sha256) == data
    assert rows(kept) == [sha256]


def test_a_lost_folder_is_told_in_a_few_lines(kept, monkeypatch):
    monkeypatch.setattr(photos, "_NAMED_FAULTS", 2)
    monkeypatch.setattr(photos, "_AT_ONCE", 2)
    for seed in range(5):
        file_of(kept, kept.add_photo(1, photo(seed, size=(40, 30)), "Kim").sha256).unlink()
    assert len(list(kept.photo_faults())) == 3
    assert list(kept.photo_faults())[-1] == "photos with a missing or changed file besides: 3"


@pytest.mark.parametrize("asked", ["0" * 64, "../../log.sqlite", "", "A" * 64])
def test_what_is_no_hash_of_a_photo_finds_nothing(kept, asked):
    with pytest.raises(RecordError, match="the log has no photo"):
        kept.photo_data(asked)


TROUBLES = [
    (errno.ENOSPC, "the disk is full: make room"),
    (errno.EDQUOT, "the disk is full: make room"),
    (errno.EROFS, "cannot be written: check its rights"),
    (errno.EACCES, "cannot be written: check its rights"),
    (errno.EIO, "cannot be used .Input/output error.: check the disk"),
]


@pytest.mark.parametrize(("code", "says"), TROUBLES)
def test_a_disk_that_takes_no_file_leaves_no_row(kept, data_folder, monkeypatch, code, says):
    def refuse(_):
        raise OSError(code, os.strerror(code))

    monkeypatch.setattr(photo_files.os, "fsync", refuse)
    with pytest.raises(StoreError, match=f"{says}.*; the photo was not kept"):
        kept.add_photo(1, photo(1), "Kim")
    monkeypatch.undo()
    monkeypatch.setenv("ADVISOR_DATA_DIR", str(data_folder))
    assert rows(kept) == []
    assert files(data_folder) == []
    kept.add_photo(1, photo(1), "Kim")
    assert kept.verify().is_sound


def test_a_file_where_the_folder_should_be_is_told(kept, data_folder):
    (data_folder / "photos").write_text("in the way")
    with pytest.raises(StoreError, match="the folder of the photos cannot be used"):
        kept.add_photo(1, photo(1), "Kim")
    assert rows(kept) == []


def test_the_file_is_there_before_its_row(kept, data_folder, monkeypatch):
    def stop(*_, **__):
        (file,) = files(data_folder)
        assert file.read_bytes() == read_photo(photo(1)).data
        raise KeyboardInterrupt("as if the power went")

    with monkeypatch.context() as patch:
        patch.setattr(type(kept), "_append", stop)
        with pytest.raises(KeyboardInterrupt, match="the power went"):
            kept.add_photo(1, photo(1), "Kim")
    assert rows(kept) == []
    kept.add_photo(1, photo(1), "Kim")
    assert len(files(data_folder)) == len(rows(kept)) == 1
    assert kept.verify().is_sound


@pytest.mark.skipif(os.name == "nt", reason="Windows has other rights")
def test_only_this_user_reads_the_files(kept, data_folder):
    kept.add_photo(1, photo(1), "Kim")
    (file,) = files(data_folder)
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    for folder in (file.parent, file.parent.parent, data_folder / "photos"):
        assert stat.S_IMODE(folder.stat().st_mode) == 0o700


def test_no_folder_is_ever_listed(kept, monkeypatch):
    def refuse(*_):
        pytest.fail("a folder was listed")

    for name in ("listdir", "scandir", "walk"):
        monkeypatch.setattr(os, name, refuse)
    sha256 = kept.add_photo(1, photo(1), "Kim").sha256
    assert hashlib.sha256(kept.photo_data(sha256)).hexdigest() == sha256
    assert list(kept.photo_faults()) == []


def test_shops_do_not_share_a_folder(kept, url):
    other = open_log(url, "Other shop")
    sha256 = kept.add_photo(1, photo(1), "Kim").sha256
    assert other.photo_folder() != kept.photo_folder()
    with pytest.raises(RecordError, match="the log has no photo"):
        other.photo_data(sha256)
    before = kept.photo_folder()
    other.mark_demo(BY)
    assert other.photo_folder().name.startswith("demo-")
    assert kept.photo_folder() == before
    other.close()


def test_a_log_in_memory_has_no_place_for_photos():
    log = open_log("sqlite://")
    with pytest.raises(StoreError, match="a log in memory has no place for photos"):
        log.photo_folder()
    assert log.verify().is_sound
    log.close()


def test_photos_are_found_whatever_folder_the_log_is_in(tmp_path):
    folder = tmp_path / "50% of #1?"
    folder.mkdir()
    log = open_log(f"sqlite:///{folder / 'log.sqlite'}".replace("%", "%25").replace("?", "%3F"))
    assert log.photo_folder() == folder / "photos" / "1"
    log.close()
