"""Photos of coupons: a sealed row each in the log, and files beside the database.

A file is named by the SHA-256 of what it holds and is on the disk before its row is: a row always
has its file, and a crash in between leaves a file that no row names.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from hashlib import sha256 as sha256_of
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Row, Select, select

from advisor.coupons.photo import Photo, read_photo
from advisor.errors import RecordError, StoreError
from advisor.language import say
from advisor.people.roles import Act
from advisor.store import photo_files
from advisor.store.base import Base
from advisor.store.engine import data_folder
from advisor.store.schema import coupon, coupon_photo, shop

#: Photos of one coupon: each of at most 4 sheets from both sides, and some more.
MOST_PHOTOS = 12

_P = coupon_photo.c
_FILE = ("sha256", "media", "bytes", "width_px", "height_px")
_HASH = re.compile(r"[0-9a-f]{64}")
_AT_ONCE = 1000
#: A lost folder is told in a few lines, not in one for each photo.
_NAMED_FAULTS = 20


@dataclass(frozen=True)
class KeptPhoto:
    """A photo of a coupon as the log knows it; `Photos.photo_data` returns the file.

    Parameters
    ----------
    sha256 : str
        SHA-256 of the file in hexadecimal.
    media : str
        ``image/jpeg``, ``image/png`` or ``image/webp``.
    bytes : int
        Length of the file. [bytes]
    width_px, height_px : int
        Size of the picture. [px]
    by : str
        Who added it.
    at : datetime
        When.
    """

    sha256: str
    media: str
    bytes: int
    width_px: int
    height_px: int
    by: str
    at: datetime


class Photos(Base):
    """The photos of a shop's coupons; never changed and never deleted."""

    def photo_folder(self) -> Path:
        """Return the folder of this shop's photos; it is made with the first photo.

        ``photos`` beside the file of the database, or in the folder of the log's data where the
        database is on a server; in it a folder for each shop, and for the invented one another.

        Raises
        ------
        StoreError
            The log is in memory and has no place for files.
        """
        with self._reading() as connection:
            return self._folder(connection)

    def _folder(self, connection: Connection) -> Path:
        query = select(shop.c.is_demo).where(shop.c.id == self._shop)
        is_demo = connection.execute(query).scalar_one()
        return _beside(connection) / (f"demo-{self._shop}" if is_demo else str(self._shop))

    def add_photo(
        self, number: int, data: bytes, by: str, now: datetime | None = None
    ) -> KeptPhoto:
        """Clean a photo and keep it with a coupon.

        A photo that the coupon has already is not added twice. It is known by the hash of the
        cleaned file, as when the same upload comes again, and by the hash of the data as given,
        as when a kept file comes back. Its file is written again if it was lost.

        Parameters
        ----------
        number : int
            Number of the coupon; a voided one keeps photos too.
        data : bytes
            The file as uploaded. Its name is not asked for.
        by : str
            Who adds it.
        now : datetime, optional
            Moment of writing; the clock's when left out.

        Raises
        ------
        InputError
            The file is no photo that is kept; see `read_photo`.
        RecordError
            No such coupon, or it has `MOST_PHOTOS` photos.
        StoreError
            The file cannot be written; nothing is recorded.
        """
        # Outside the transaction: others write while a photo is decoded.
        photo = self._as_kept(number, data) or read_photo(data)
        with self._writing(by, Act.BENCH) as connection:
            coupon_id = self._coupon_id(connection, number)
            kept = self._kept(connection, coupon_id)
            found = next((each for each in kept if each.sha256 == photo.sha256), None)
            if found is None and len(kept) >= MOST_PHOTOS:
                raise RecordError(
                    say(
                        "coupon #{number} has {count} photos and no more are kept; choose the ones "
                        "that show the button best before you add them",
                        number=number,
                        count=len(kept),
                    )
                )
            folder = self._folder(connection)
            if found is None or photo_files.trouble(folder, photo.sha256):
                photo_files.put(folder, photo)
            return found or self._record(connection, number, coupon_id, photo, by, now)

    def _as_kept(self, number: int, data: bytes) -> Photo | None:
        """Return data that are, byte by byte, a photo which the coupon has; they need no cleaning.

        Asked before anything is decoded, it also refuses strangers and wrong numbers.
        """
        given = sha256_of(data).hexdigest()
        for each in self.photos(number):
            if each.sha256 == given:
                return Photo(data, each.media, given, each.width_px, each.height_px)
        return None

    def _record(
        self,
        connection: Connection,
        number: int,
        coupon_id: int,
        photo: Photo,
        by: str,
        now: datetime | None,
    ) -> KeptPhoto:
        size = len(photo.data), photo.width_px, photo.height_px
        new = KeptPhoto(photo.sha256, photo.media, *size, by.strip(), now or datetime.now(UTC))
        values = {
            **{name: getattr(new, name) for name in _FILE},
            "coupon_id": coupon_id,
            "recorded_by": new.by,
            "recorded_at": new.at,
        }
        self._append(connection, coupon_photo, values, number=number)
        return new

    def photos(self, number: int) -> list[KeptPhoto]:
        """Return the photos of a coupon, first added first; `RecordError` without such a coupon."""
        with self._reading() as connection:
            return self._kept(connection, self._coupon_id(connection, number))

    def photo_data(self, sha256: str) -> bytes:
        """Return the file of a photo, checked against its hash.

        Parameters
        ----------
        sha256 : str
            Hash of a photo of this shop.

        Raises
        ------
        RecordError
            No such photo, or its file is missing, cannot be read or was changed.
        """
        with self._reading() as connection:
            folder = self._folder(connection)
        try:
            found = photo_files.read(folder, sha256) if _HASH.fullmatch(sha256) else None
        except OSError:
            found = None
        if found is not None and sha256_of(found).hexdigest() == sha256:
            return found
        raise RecordError(self._lost(folder, sha256))

    def _lost(self, folder: Path, sha256: str) -> str:
        numbers = ", ".join(f"#{number}" for number in self._coupons_with(sha256))
        if not numbers:
            return say(
                "the log has no photo {photo!r}; choose one of a coupon's own", photo=sha256[:12]
            )
        return say(
            "photo {photo} of coupon {numbers}: {trouble}; put the file back from a backup, or add "
            "the same photo again",
            photo=sha256[:12],
            numbers=numbers,
            trouble=photo_files.trouble(folder, sha256),
        )

    def photo_faults(self) -> Iterator[str]:
        """Read every photo's file; name, in a sentence each, those that are missing or changed."""
        wrong = 0
        for folder, row in self._all_photos():
            trouble = photo_files.trouble(folder, row.sha256)
            wrong += bool(trouble)
            if trouble and wrong <= _NAMED_FAULTS:
                yield say(
                    "photo {photo} of coupon #{number}: {trouble}",
                    photo=row.sha256[:12],
                    number=row.number,
                    trouble=trouble,
                )
        if wrong > _NAMED_FAULTS:
            yield say(
                "photos with a missing or changed file besides: {count}",
                count=wrong - _NAMED_FAULTS,
            )

    def _all_photos(self) -> Iterator[tuple[Path, Row[*tuple[Any, ...]]]]:
        query = (
            select(_P.sha256, _P.place, coupon.c.number)
            .join(coupon, coupon.c.id == _P.coupon_id)
            .where(_P.shop_id == self._shop)
            .order_by(_P.place)
            .limit(_AT_ONCE)
        )
        last = -1
        while True:
            with self._reading() as connection:
                found = connection.execute(query.where(_P.place > last)).all()
                if not found:
                    return
                folder = self._folder(connection)
            yield from ((folder, row) for row in found)
            last = found[-1].place

    def _coupon_id(self, connection: Connection, number: int) -> int:
        query = select(coupon.c.id).where(coupon.c.shop_id == self._shop, coupon.c.number == number)
        found = connection.execute(query).scalar()
        if found is None:
            raise RecordError(say("there is no coupon #{number}", number=number))
        return int(found)

    def _kept(self, connection: Connection, coupon_id: int) -> list[KeptPhoto]:
        return [KeptPhoto(*row) for row in connection.execute(_photos_of(coupon_id))]

    def _coupons_with(self, sha256: str) -> list[int]:
        """Return which coupons have a photo; it reads every row, so only for a refusal."""
        query = (
            select(coupon.c.number)
            .join(coupon_photo, _P.coupon_id == coupon.c.id)
            .where(_P.shop_id == self._shop, _P.sha256 == sha256)
            .order_by(coupon.c.number)
        )
        with self._reading() as connection:
            return list(connection.execute(query).scalars())


def _photos_of(coupon_id: int) -> Select[Any]:
    says = (*(_P[name] for name in _FILE), _P.recorded_by, _P.recorded_at)
    return select(*says).where(_P.coupon_id == coupon_id).order_by(_P.place)


def _beside(connection: Connection) -> Path:
    """Return where the photos of all shops of a database are."""
    if connection.dialect.name != "sqlite":
        return data_folder() / "photos"
    # SQLite itself knows its file, however the address was written.
    main = connection.exec_driver_sql("PRAGMA database_list").first()
    file = main[2] if main else ""
    if not file:
        raise StoreError(say("a log in memory has no place for photos; keep the log in a file"))
    return Path(file).parent / "photos"
