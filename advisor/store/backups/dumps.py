"""Backups of a log on a PostgreSQL server.

``pg_dump`` works on the snapshot of the transaction that counts. A role that row level security
holds backs up its own shop; a superuser backs up all shops.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, inspect, text

from advisor.errors import StoreError
from advisor.language import msg, say
from advisor.store.backups.facts import Facts, check_schema
from advisor.store.disk import told
from advisor.store.schema import SEALED

INSTALL = msg(
    "pg_dump and pg_restore are not found; install the PostgreSQL client programs of the server's "
    "version (Debian: postgresql-client), or put them on the PATH"
)


def programs() -> tuple[str, str]:
    """Return where ``pg_dump`` and ``pg_restore`` are: on the PATH, or Debian's newest."""
    debian = sorted(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda p: float(p.parts[-2]))
    for folder in (None, *reversed(debian)):
        found = [shutil.which(name, path=folder) for name in ("pg_dump", "pg_restore")]
        if found[0] and found[1]:
            return found[0], found[1]
    raise StoreError(say(INSTALL))


def is_dump(path: Path) -> bool:
    """Whether a file is a backup of a server's log."""
    with told(path), path.open("rb") as file:
        return file.read(5) == b"PGDMP"


def choose_shop(connection: Connection, name: str) -> None:
    """Let a role that row level security holds see one shop; refuse a name that nobody has."""
    choose = text("SELECT set_config(:what, :value, true)")
    connection.execute(choose, {"what": "advisor.shop_name", "value": name})
    if not inspect(connection).has_table("shop"):
        return
    ask = text("SELECT (SELECT id FROM shop WHERE name = :name), row_security_active('shop')")
    found, is_held = connection.execute(ask, {"name": name}).one()
    if found is None and is_held:
        raise StoreError(
            say("this log has no shop called {name!r}; nothing was backed up", name=name)
        )
    connection.execute(choose, {"what": "advisor.shop", "value": str(found or "")})


def dump(source: Connection, part: Path) -> None:
    """Write the moment that a transaction sees into a file, with ``pg_dump``."""
    ask = text("SELECT pg_export_snapshot(), row_security_active('coupon'), current_setting(:name)")
    snapshot, is_held, shop = source.execute(ask, {"name": "advisor.shop"}).one()
    known = source.dialect.create_connect_args(source.engine.url)[1]
    options = {name: str(v) for name, v in known.items() if isinstance(v, str | int)}
    password = options.pop("password", None)
    command = [programs()[0], "--format=custom", "--no-owner", f"--snapshot={snapshot}"]
    if is_held:
        command.append("--enable-row-security")
        options["options"] = f"{options.get('options', '')} -c advisor.shop={shop}".strip()
    command += [f"--file={part}", f"--dbname={_conninfo(options)}"]
    secret = {"PGPASSWORD": password} if password else {}
    done = subprocess.run(  # noqa: S603  (no shell, and nothing a person typed)
        command, capture_output=True, text=True, check=False, env={**os.environ, **secret}
    )
    if done.returncode:
        raise StoreError(say("pg_dump: {problem}; no backup was made", problem=done.stderr.strip()))


def _conninfo(options: Mapping[str, str]) -> str:
    def quoted(value: str) -> str:
        return "'" + re.sub(r"(['\\])", r"\\\1", value) + "'"

    return " ".join(f"{name}={quoted(value)}" for name, value in options.items())


def dump_facts(path: Path, named: str) -> Facts:
    """Let ``pg_restore`` write a dump out as a script, and count in that."""
    command = [programs()[1], "--file=-", str(path)]
    with subprocess.Popen(  # noqa: S603  (no shell)
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as process:
        facts = _script_facts(process.stdout or ())
        said = process.stderr.read().decode(errors="replace") if process.stderr else ""
    if process.returncode:
        raise StoreError(
            say(
                "{file}: the file is damaged ({problem}); take another backup",
                file=named,
                problem=said.strip(),
            )
        )
    if not {"alembic_version", "shop", "coupon"} <= set(facts.rows):
        raise StoreError(say("{file} is no log of this program", file=named))
    check_schema(facts.schema)
    return facts


def _script_facts(lines: Iterable[bytes]) -> Facts:
    rows: dict[str, int] = {}
    ends: dict[str, dict[str, list[Any]]] = {}
    schema, name = "", ""
    columns: list[str] = []
    sealed = {each.name for each in SEALED}
    for line in lines:
        if not name:
            if begins := re.match(rb'COPY (?:"?\w+"?\.)?"?(\w+)"? \((.*)\) FROM stdin;', line):
                name = begins[1].decode()
                columns = [each.strip(' "') for each in begins[2].decode().split(",")]
                rows[name] = 0
        elif line.rstrip() == rb"\.":
            name = ""
        else:
            rows[name] += 1
            if name == "alembic_version":
                schema = line.decode().strip()
            elif name in sealed and "seal" in columns:
                _note_end(ends.setdefault(name, {}), columns, line)
    return Facts(schema, rows, ends)


def _note_end(ends: dict[str, list[Any]], columns: list[str], line: bytes) -> None:
    cells = dict(zip(columns, line.decode().rstrip("\r\n").split("\t"), strict=True))
    shop, place = cells["shop_id"], int(cells["place"])
    if place > ends.get(shop, [0])[0]:
        ends[shop] = [place, cells["seal"]]
