"""A PostgreSQL server of the tests' own: private, on this machine only, gone when they end.

It asks nobody for a password (``trust``) and gives up safety for speed (no ``fsync``). Both are
right for a server that holds nothing and lives for a minute, and for no other.
"""

import os
import shutil
import socket
import subprocess
import tempfile
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from itertools import count
from pathlib import Path

import psycopg

HOST = "127.0.0.1"
#: Superuser of the cluster; no test connects as this role, row level security would not hold it.
OWNER = "cluster_owner"
#: Owner of the tests' databases, an ordinary role as a shop's server would have it.
ROLE = "shop_app"
#: Debian's name for the account that may run the server: it refuses to run as root.
ACCOUNT = "postgres"
INSTALL = "install Debian's postgresql, or put initdb and pg_ctl on the PATH"
RAM_DISK = Path("/dev/shm")  # noqa: S108  (its use is guarded, and the folder in it is private)
ROOM_BYTES = 1 << 30

SETTINGS = {
    "listen_addresses": HOST,
    "unix_socket_directories": "",
    "fsync": "off",
    "full_page_writes": "off",
    "synchronous_commit": "off",
    "wal_level": "minimal",
    "max_wal_senders": "0",
    "max_wal_size": "64MB",
    # A worker looking at the template would hold up whoever copies it.
    "autovacuum": "off",
    # Far from UTC and by no whole hours: a moment that lost its zone on the way shows.
    "timezone": "Asia/Kathmandu",
}


@dataclass
class Server:
    """A running server.

    Parameters
    ----------
    port : int
        Where it listens on this machine.
    owner : psycopg.Connection
        Connection of the superuser, for making and dropping databases.
    """

    port: int
    owner: psycopg.Connection
    _numbers: count = field(default_factory=count)
    _done: list[str] = field(default_factory=list)

    def url(self, name):
        """Return the address of a database for the ordinary role."""
        return f"postgresql+psycopg://{ROLE}@{HOST}:{self.port}/{name}"

    @contextmanager
    def database(self, template="template1"):
        """Copy a database nobody is connected to, give its name, drop it afterwards."""
        self._drop()
        name = f"log_{next(self._numbers)}"
        self.owner.execute(f"CREATE DATABASE {name} OWNER {ROLE} TEMPLATE {template}{self._copy}")
        try:
            yield name
        finally:
            self._done.append(name)

    @property
    def _copy(self):
        """Whole files are copied twice as fast as through the log of changes (from version 15)."""
        return " STRATEGY file_copy" if self.owner.info.server_version >= 150_000 else ""

    def _drop(self):
        """Drop what tests have done with, one test late.

        A connection closed a moment ago is still there for the server, and dropping its database
        at once would wait for a tenth of a second.
        """
        while self._done:
            self.owner.execute(f"DROP DATABASE {self._done.pop()} WITH (FORCE)")


def binaries():
    """Return the folder of the server's programs, or None: on the PATH, or Debian's newest."""
    on_path = shutil.which("initdb")
    debian = Path("/usr/lib/postgresql").glob("*/bin/initdb")
    newest = sorted(debian, key=lambda path: float(path.parts[-3]), reverse=True)
    for found in filter(None, (on_path, *newest)):
        folder = Path(found).resolve().parent
        if all(shutil.which(name, path=folder) for name in ("initdb", "pg_ctl", "postgres")):
            return folder
    return None


def missing():
    """Return what is to be installed before a server can run here, empty if nothing is."""
    if binaries() is None:
        return f"PostgreSQL: no server found ({INSTALL})"
    if _is_root() and not _account_exists():
        return f"PostgreSQL: root may not run it and there is no account {ACCOUNT!r} ({INSTALL})"
    return ""


@contextmanager
def running():
    """Run a new, empty server; stop and remove it afterwards, whatever happened."""
    with _folder() as folder:
        programs = _Programs(binaries(), folder)
        data = folder / "data"
        programs.run(
            *("initdb", "--pgdata", data, "--no-sync", "--auth", "trust", "--username", OWNER),
            *("--encoding", "UTF8", "--locale", "C.UTF-8", "--locale-provider", "icu", "--icu-locale", "en-US"),
        )
        port = _free_port()
        _configure(data, port)
        programs.run("pg_ctl", "start", "-w", "-D", data, "-l", folder / "server.txt")
        try:
            with closing(_connected(port)) as owner:
                owner.execute(f"CREATE ROLE {ROLE} LOGIN NOSUPERUSER NOBYPASSRLS")
                yield Server(port, owner)
        finally:
            programs.run("pg_ctl", "stop", "-w", "-D", data, "-m", "immediate")


@dataclass(frozen=True)
class _Programs:
    """The server's programs, run by an account that may run them."""

    binaries: Path
    folder: Path

    def run(self, program, *arguments):
        ended = subprocess.run(
            [shutil.which(program, path=self.binaries), *map(str, arguments)],
            cwd=self.folder,  # the account may be kept out of the folder the tests were started in
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
            **({"user": ACCOUNT, "group": ACCOUNT, "extra_groups": []} if _is_root() else {}),
        )
        if ended.returncode:
            said = [ended.stderr, *(log.read_text() for log in self.folder.glob("server.txt"))]
            raise RuntimeError(f"{program} ended with status {ended.returncode}: {''.join(said)}")


@contextmanager
def _folder():
    """Make a private folder, in memory where there is room: a copy of a database is 300 files."""
    in_memory = RAM_DISK.is_dir() and os.access(RAM_DISK, os.W_OK)
    roomy = in_memory and shutil.disk_usage(RAM_DISK).free > ROOM_BYTES
    with tempfile.TemporaryDirectory(prefix="pg-", dir=RAM_DISK if roomy else None) as made:
        if _is_root():
            shutil.chown(made, ACCOUNT, ACCOUNT)
        yield Path(made)


def _configure(data, port):
    lines = [f"{name} = '{value}'\n" for name, value in {**SETTINGS, "port": port}.items()]
    with (data / "postgresql.conf").open("a") as settings:
        settings.writelines(lines)


def _connected(port):
    return psycopg.connect(host=HOST, port=port, user=OWNER, dbname="postgres", autocommit=True)


def _free_port():
    with socket.socket() as probe:
        probe.bind((HOST, 0))
        return probe.getsockname()[1]


def _is_root():
    return hasattr(os, "geteuid") and os.geteuid() == 0


def _account_exists():
    import pwd  # there is none where there is no root

    return any(each.pw_name == ACCOUNT for each in pwd.getpwall())
