"""Photos beside a backup: copied by their hash, never twice."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path

from advisor.language import say, say_number
from advisor.store.disk import told, write_whole

_PHOTO = re.compile(r"[0-9a-f]{64}(\.\w+)?")


def copy_photos(source: Path, target: Path) -> list[str]:
    """Copy the photos that the other folder lacks, and name those that are damaged.

    A photo is named after its SHA-256, so one that is there needs no second look. Those of the
    invented shop are left out.
    """
    wrong = []
    with told(target):
        for path in _photos_in(source):
            there = target / path.relative_to(source)
            if there.exists() or path.relative_to(source).parts[0].startswith("demo-"):
                continue
            content = path.read_bytes()
            if hashlib.sha256(content).hexdigest() != path.name[:64]:
                wrong.append(say("the photo {file} is damaged and was not copied", file=path))
            else:
                write_whole(there, content)
    return wrong


def _photos_in(folder: Path) -> list[Path]:
    return sorted(path for path in folder.rglob("*") if _PHOTO.fullmatch(path.name))


def missing_photos(named: set[str], folder: Path) -> list[str]:
    """Return a sentence when a folder lacks photos that the log names."""
    missing = named - {path.name[:64] for path in _photos_in(folder)}
    if not missing:
        return []
    sentence = say_number(
        "{number} photo that the log names is not in {folder}",
        "{number} photos that the log names are not in {folder}",
        len(missing),
        folder=folder,
    )
    return [sentence]
