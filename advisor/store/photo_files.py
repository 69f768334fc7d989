"""The files of photos: written so that they outlast a power cut, found by their hash, checked.

``FOLDER/ab/abcdef….jpg``: the folder of a shop, two digits of the hash, the whole hash. A name that
begins with a dot is a file that was not written to its end. No folder is ever listed.
"""

from __future__ import annotations

import errno
import os
import tempfile
from hashlib import sha256 as sha256_of
from pathlib import Path

from advisor.coupons.photo import Photo
from advisor.errors import StoreError
from advisor.language import say
from advisor.store.disk import sync

_ENDINGS = (".jpg", ".png", ".webp")
_FULL = frozenset({errno.ENOSPC, errno.EDQUOT, errno.EFBIG})
_CLOSED = frozenset({errno.EACCES, errno.EPERM, errno.EROFS})


def put(folder: Path, photo: Photo) -> None:
    """Write a photo's file, readable by this user only.

    Parameters
    ----------
    folder : Path
        Of the shop; made here, as is the one above it.
    photo : Photo
        The cleaned photo.

    Raises
    ------
    StoreError
        It cannot be written; the text says why.
    """
    path = _path(folder, photo.sha256, photo.ending)
    try:
        for level in (folder.parent, folder, path.parent):
            _make(level)
        _write(path, photo.data)
    except OSError as error:
        raise StoreError(
            say(
                "{folder}: {trouble}; the photo was not kept",
                folder=path.parent,
                trouble=_why(error),
            )
        ) from error


def read(folder: Path, sha256: str) -> bytes | None:
    """Return what is in a photo's file whatever its kind, None where there is none; unchecked."""
    for ending in _ENDINGS:
        try:
            return _path(folder, sha256, ending).read_bytes()
        except (FileNotFoundError, NotADirectoryError):
            continue
    return None


def trouble(folder: Path, sha256: str) -> str:
    """Say what is wrong with a photo's file; empty when nothing is.

    Parameters
    ----------
    folder : Path
        Of the shop.
    sha256 : str
        Hash of the photo.
    """
    part = folder / sha256[:2]
    try:
        data = read(folder, sha256)
    except OSError as error:
        return say(
            "its file in {folder} cannot be read ({problem})", folder=part, problem=error.strerror
        )
    if data is None:
        return say("its file is missing from {folder}", folder=part)
    if sha256_of(data).hexdigest() != sha256:
        return say("its file in {folder} was changed or is damaged", folder=part)
    return ""


def _path(folder: Path, sha256: str, ending: str) -> Path:
    return folder / sha256[:2] / f"{sha256}{ending}"


def _why(error: OSError) -> str:
    if error.errno in _FULL:
        return say("the disk is full: make room and add the photo again")
    if error.errno in _CLOSED:
        return say("the folder of the photos cannot be written: check its rights")
    return say(
        "the folder of the photos cannot be used ({problem}): check the disk",
        problem=error.strerror,
    )


def _make(folder: Path) -> None:
    try:
        folder.mkdir(mode=0o700)
    except FileExistsError:
        return
    sync(folder.parent)


def _write(path: Path, data: bytes) -> None:
    """Write a file under a name of no meaning, and give it its own when it is on the disk."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=".", suffix=".part")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        Path(name).replace(path)
    finally:
        Path(name).unlink(missing_ok=True)
    sync(path.parent)
