"""Programs killed while they write, disks that fill up and folders that turn read-only.

Each time the log holds exactly what it said it had taken.
"""

import os
import shutil
import subprocess
import tempfile
from collections import Counter
from contextlib import closing, contextmanager
from dataclasses import replace
from pathlib import Path

import pytest
from power_cut import BATCH, PROGRAMS, PowerCuts, Writer
from store_examples import NOW, PASSING, fill

from advisor.errors import StoreError
from advisor.store.base import Trust
from advisor.store.log import open_log

KB = 1024
NOBODY = 65534


# Kills


@pytest.fixture(scope="module", autouse=True)
def tables_copied():
    """Every new log goes through the migrations here, with the rights of whoever opens it."""


@pytest.mark.parametrize(("database", "kills"), [("sqlite", 8), ("postgresql", 3)])
def test_what_was_acknowledged_before_a_kill_is_there_after_it(request, database, kills):
    cuts = PowerCuts(request.getfixturevalue(f"{database}_url")).run(kills)
    assert cuts.faults == []
    assert len(cuts.heard) > kills


class Hasty(Writer):
    """Acknowledges what is only about to be written."""

    def step(self, tag):
        self.say((tag, 0, 1))
        self.add(tag)


class Piecemeal(Writer):
    """Imports in fifty transactions instead of one."""

    def step(self, tag):
        for i in range(BATCH):
            self.add(f"{tag}/{i}")
            if i == 1:  # the time until the kill starts here
                self.say(*self.keep_draft(tag))


@pytest.mark.parametrize(
    ("writer", "fault"), [(Hasty, "was acknowledged and is not there"), (Piecemeal, "of 50 are")]
)
def test_a_loss_would_be_found(sqlite_url, writer, fault):
    cuts = PowerCuts(sqlite_url, writer=writer).run(2)
    assert [each for each in cuts.faults if fault in each]


# Full disks


@pytest.fixture
def small_disk(tmp_path):
    """A disk of 3 MB."""
    folder = tmp_path / "disk"
    folder.mkdir()
    if not shutil.which("mount") or os.geteuid() != 0:
        pytest.skip("only root can mount a small disk")
    made = mount("-t", "tmpfs", "-o", "size=3m", "tmpfs", folder)
    if made.returncode:
        pytest.skip(f"a small disk cannot be mounted here: {made.stderr.strip()}")
    yield folder
    subprocess.run(["umount", "--lazy", folder], check=True)


def mount(*arguments):
    return subprocess.run(["mount", *arguments], capture_output=True, text=True)


def leave_room(folder, room_bytes):
    """Fill a disk but for so many bytes."""
    with (folder / "filler").open("wb") as filler:
        free = shutil.disk_usage(folder).free
        os.posix_fallocate(filler.fileno(), 0, free - room_bytes)


def log_in(folder):
    return f"sqlite:///{folder / 'log.sqlite'}"


def notes(log):
    return Counter(each.coupon.notes for each in log.iter_coupons())


def assert_holds(url, kept):
    """The log opens, is sound, holds so many coupons of each note and takes one more."""
    with closing(open_log(url)) as log:
        assert notes(log) == kept
        assert log.counts()["coupons"] == kept.total()
        assert log.used_by(Trust.OPERATOR).verify().is_sound
        with log._reading() as connection:
            assert connection.exec_driver_sql("PRAGMA integrity_check").scalars().all() == ["ok"]
        log.add_coupon(PASSING, "Kim", NOW)


class Attempts:
    """Writes to a log that may refuse, and what was taken and what was said."""

    def __init__(self, log):
        self.log, self.kept, self.said = log, Counter(), []

    def add(self, note):
        self._try(note, 1, lambda new: self.log.add_coupon(new, "Kim", NOW))

    def bring_in(self, note, number):
        self._try(note, number, lambda new: self.log.import_coupons([new] * number, "Kim", NOW))

    def _try(self, note, number, write):
        try:
            write(replace(PASSING, notes=note))
        except StoreError as error:
            self.said.append(str(error))
        else:
            self.kept[note] += number


@pytest.mark.parametrize("stays_open", [True, False])
def test_a_disk_that_fills_up_loses_nothing(small_disk, stays_open):
    """Each attempt runs out of room at another page."""
    log = fill(open_log(log_in(small_disk)))
    tried = Attempts(log)
    for room_kb in range(0, 120, 4):
        leave_room(small_disk, room_kb * KB)
        tried.bring_in(f"many {room_kb}", 20)
        tried.add(f"one {room_kb}")
        if not stays_open:
            log.close()  # moves what lies beside the file into it, as far as there is room
    assert tried.kept
    assert tried.said
    assert all("full" in sentence for sentence in tried.said)
    log.close()
    (small_disk / "filler").unlink()
    assert_holds(log_in(small_disk), tried.kept)


def test_a_log_is_read_on_a_full_disk(small_disk):
    with closing(fill(open_log(log_in(small_disk)))) as log:
        log.add_coupon(PASSING, "Kim", NOW)
        log.close()  # gives back what the file beside the log took
        leave_room(small_disk, 150 * KB)
        with pytest.raises(StoreError, match="the disk is full; nothing was stored: make room"):
            log.import_coupons([replace(PASSING, notes="new")] * 500, "Kim", NOW)
        assert notes(log) == {"": 1}


def write_until_refused(url, most_bytes, pipe):
    """Be a program whose files may not grow beyond a size, as under a quota."""
    import resource

    resource.setrlimit(resource.RLIMIT_FSIZE, (most_bytes, most_bytes))
    tried = Attempts(open_log(url))
    while not tried.said:
        tried.add(f"one {tried.kept.total()}")
    pipe.send((tried.kept, tried.said))


def test_a_file_that_may_not_grow_loses_nothing(sqlite_url):
    pytest.importorskip("resource")
    fill(open_log(sqlite_url)).close()
    here, there = PROGRAMS.Pipe(duplex=False)
    program = PROGRAMS.Process(target=write_until_refused, args=(sqlite_url, 1500 * KB, there))
    program.start()
    there.close()
    kept, said = here.recv()
    here.close()
    program.join()
    assert kept
    assert "full" in said[0]
    assert_holds(sqlite_url, kept)


# Read-only folders


@contextmanager
def mounted_read_only(folder):
    assert mount("-o", "remount,ro", folder).returncode == 0
    try:
        yield
    finally:
        assert mount("-o", "remount,rw", folder).returncode == 0


@contextmanager
def without_rights(folder):
    files = list(folder.iterdir())
    for each in (*files, folder):
        each.chmod(0o555)
    try:
        yield
    finally:
        for each in (folder, *files):
            each.chmod(0o755)


@pytest.fixture
def own_folder():
    """A folder of an ordinary user, and nobody is root meanwhile."""
    with tempfile.TemporaryDirectory() as made:
        root = os.geteuid() == 0
        if root:
            os.chown(made, NOBODY, -1)
            os.seteuid(NOBODY)
        yield Path(made)
        if root:
            os.seteuid(0)


@pytest.mark.parametrize(
    ("place", "read_only"), [("small_disk", mounted_read_only), ("own_folder", without_rights)]
)
def test_a_log_goes_on_after_its_folder_was_read_only(request, place, read_only):
    folder = request.getfixturevalue(place)
    log = fill(open_log(log_in(folder)))
    tried = Attempts(log)
    tried.add("before")
    log.close()
    with read_only(folder):
        tried.add("meanwhile")
        tried.bring_in("meanwhile", 3)
        log.close()
    assert len(tried.said) == 2
    assert all("check the folder" in each or "check its rights" in each for each in tried.said)
    tried.add("after")
    log.close()
    assert tried.kept == {"before": 1, "after": 1}
    assert_holds(log_in(folder), tried.kept)


def test_rights_taken_away_under_an_open_log_lose_nothing(own_folder):
    """Connections that are open may go on, and new ones may not."""
    log = fill(open_log(log_in(own_folder)))
    tried = Attempts(log)
    with without_rights(own_folder):
        tried.add("open")
        with log._reading():  # so that the next one needs a connection of its own
            tried.add("new")
    log.close()
    assert tried.kept.total() + len(tried.said) == 2
    assert_holds(log_in(own_folder), tried.kept)
