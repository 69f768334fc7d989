"""A backup every day, and which old ones nobody needs any more."""

from __future__ import annotations

import glob
import json
import re
import sqlite3
import threading
from collections.abc import Iterable, Iterator, Mapping
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from time import monotonic
from typing import Any

from advisor.errors import AdvisorError, StoreError
from advisor.language import ENGLISH, say, speaking
from advisor.store.backups.backup import (
    back_up,
    description,
    done_words,
    folder_of,
    log_file,
    snapshot,
    stem_of,
)
from advisor.store.backups.facts import facts_of
from advisor.store.disk import told, write_whole
from advisor.store.engine import default_shop, demo_url

DAY, HOUR_S = timedelta(days=1), 3600.0


@dataclass(frozen=True)
class BackupState:
    """How the last backup of a log went.

    Parameters
    ----------
    at : datetime or None
        When; None when there was none yet.
    ok : bool
        Whether all of it is safe.
    text : str
        What to tell a person.
    """

    at: datetime | None
    ok: bool
    text: str


#: How the last backup of each log went, as it is written down: in English.
_states: dict[str, dict[str, Any]] = {}


_looked: dict[str, float] = {}


_looking = threading.Lock()


def to_drop(moments: Iterable[datetime], now: datetime) -> list[datetime]:
    """Return the backups that nobody needs any more.

    Kept are the newest of each of the last 7 days, of each of the last 5 weeks from Monday on, of
    each of the last 12 months, and of each year, all in UTC and each counted with the running one.

    Parameters
    ----------
    moments : iterable of datetime
        When the backups were made.
    now : datetime
        The moment of looking.

    Returns
    -------
    list of datetime
        In order of time; never the newest.
    """
    newest: dict[tuple[str, object], datetime] = {}
    made = sorted(set(moments))
    for moment in made:
        newest.update(dict.fromkeys(_spans(moment, now), moment))
    return sorted(set(made) - set(newest.values()))


def _spans(moment: datetime, now: datetime) -> Iterator[tuple[str, object]]:
    """Name the spans of time that a backup may stand for."""
    day, today = moment.astimezone(UTC).date(), now.astimezone(UTC).date()
    yield "year", day.year
    if (today.year - day.year) * 12 + today.month - day.month < 12:
        yield "month", (day.year, day.month)
    monday = day - timedelta(day.weekday())
    if today - timedelta(today.weekday()) - monday < 5 * timedelta(7):
        yield "week", monday
    if today - day < timedelta(7):
        yield "day", day


def backups(url: str) -> dict[datetime, Path]:
    """Return the backups of a log in its own ``backups/`` that this program made, by moment."""
    folder, stem = folder_of(url) / "backups", stem_of(url)
    name = re.compile(re.escape(stem) + r"-(\d{4}-\d\d-\d\dT\d{6}Z)\.(sqlite|dump)")
    found = {}
    for path in folder.glob(f"{glob.escape(stem)}-*Z.*"):
        if (dated := name.fullmatch(path.name)) and description(path):
            found[datetime.strptime(dated[1], "%Y-%m-%dT%H%M%S%z")] = path
    return found


def drop_old(url: str, now: datetime) -> list[Path]:
    """Delete what the keep rule no longer needs, and return what that was."""
    made = backups(url)
    dropped = [made[moment] for moment in to_drop(made, now)]
    for path in dropped:
        with told(path):
            path.unlink()
            path.with_suffix(".json").unlink()
    return dropped


def keep_backed_up(url: str) -> None:
    """See to it that a shop's log is backed up daily; cheap enough to be called by every page.

    At most once an hour a thread looks, and makes a backup when the newest is a day old. The demo
    shop is left out.
    """
    with _looking:
        if url == demo_url() or monotonic() - _looked.get(url, -HOUR_S) < HOUR_S:
            return
        _looked[url] = monotonic()
    ensure_daily(url, datetime.now(UTC))


def ensure_daily(url: str, now: datetime) -> threading.Thread:
    """Make a backup beside the log, in a thread, when the newest is a day old.

    An empty log is left alone. One process at a time makes a backup; the others do nothing.

    Parameters
    ----------
    url : str
        SQLAlchemy address of the log.
    now : datetime
        The moment of looking.

    Returns
    -------
    Thread
        It has started, and ends with the program; `last_backup` says how it went.
    """
    thread = threading.Thread(target=_daily, args=(url, now), name="backup", daemon=True)
    thread.start()
    return thread


def _daily(url: str, now: datetime) -> None:
    with speaking(ENGLISH):  # how it went is written down
        try:
            if _is_due(url, now):
                _make_daily(url, now)
        except AdvisorError as error:
            _note(url, now, str(error))
        except Exception as error:
            _note(url, now, f"the backup failed: {error!r}")
            raise


def _is_due(url: str, now: datetime) -> bool:
    # A backup from the future was made while the clock was wrong.
    return not any(now - DAY < moment < now + DAY / 24 for moment in backups(url))


def _make_daily(url: str, now: datetime) -> None:
    folder = folder_of(url) / "backups"
    with _one_at_a_time(folder) as is_mine:
        if not is_mine or not _is_due(url, now) or _is_empty(url):
            return
        made = back_up(url, folder, now)
        drop_old(url, now)
        good = {} if made.warnings else {"coupons": made.coupons, "path": str(made.path)}
        _note(url, now, str(made), **good)


@contextmanager
def _one_at_a_time(folder: Path) -> Iterator[bool]:
    """Hold a lock that goes with the process: that of an empty file of SQLite."""
    with told(folder):
        folder.mkdir(parents=True, exist_ok=True)
        lock = sqlite3.connect(folder / ".lock", timeout=0, isolation_level=None)
        with closing(lock):
            try:
                lock.execute("BEGIN EXCLUSIVE")
                is_mine = True
            except sqlite3.OperationalError as error:
                if "locked" not in str(error):
                    raise
                is_mine = False
            yield is_mine


def _is_empty(url: str) -> bool:
    if (path := log_file(url)) and not path.exists():
        return True
    with snapshot(url, default_shop()) as connection:
        rows = facts_of(connection).rows
    return not rows["machine"] and not rows["coupon"]


def _note(url: str, at: datetime, text: str, **good: object) -> None:
    says = {"at": at.isoformat(), "ok": bool(good), "text": text, **good}
    _states[url] = says
    with suppress(StoreError):  # a full disk is what it may have to tell; memory has it
        write_whole(_note_path(url), json.dumps(says).encode())


def _note_path(url: str) -> Path:
    return folder_of(url) / "backups" / f"{stem_of(url)}-last.json"


def last_backup(url: str) -> BackupState:
    """Return how the last backup went, also one that another process made."""
    states = [_state(says) for says in (_states.get(url), _noted(url)) if says]
    states += [
        BackupState(at, True, say("backed up {at:%Y-%m-%d %H:%M} UTC: {file}", at=at, file=path))
        for at, path in backups(url).items()
    ]
    none = BackupState(None, False, say("there is no backup of this log yet"))
    return max(states, key=lambda state: state.at or datetime.min.replace(tzinfo=UTC), default=none)


def _state(says: Mapping[str, Any]) -> BackupState:
    """Return what was noted; a good backup is told in the language spoken now."""
    at, text = datetime.fromisoformat(says["at"]), says["text"]
    if "coupons" in says and "path" in says:  # older notes have neither
        text = done_words(at, says["coupons"], says["path"])
    return BackupState(at, says["ok"], text)


def _noted(url: str) -> dict[str, Any] | None:
    try:
        says = json.loads(_note_path(url).read_bytes())
        _state(says)
    except (OSError, ValueError, KeyError):
        return None
    return dict(says)
