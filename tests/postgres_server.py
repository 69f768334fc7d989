"""A PostgreSQL server of the tests' own: private, on this machine only, gone when they end.

It asks nobody for a password (``trust``) and gives up safety for speed (no ``fsync``). Both are
right for a server that holds nothing and lives for a minute, and for no other.

Run as a program it keeps such a server until its input ends. So the server stops with the tests
even where they are killed and can tidy up nothing themselves.
"""

import os
import re
import shutil
import socket
import subprocess
import sys
import tempfile
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from itertools import count
from pathlib import Path

import psycopg

HOST = "127.0.0.1"
#: Superuser of the cluster; no test uses the log as this role, row level security never holds it.
OWNER = "cluster_owner"
#: Owner of the tests' databases, an ordinary role as a shop's server would have it.
ROLE = "shop_app"
#: Debian's name for the account that may run the server: it refuses to run as root.
ACCOUNT = "postgres"
OLDEST = 15
INSTALL = f"install Debian's postgresql, or put initdb of version {OLDEST} or later on the PATH"
RAM_DISK = Path("/dev/shm")  # noqa: S108  (only a private folder in it is used)
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
#: Names in the order of a dictionary, as on most servers, not in that of their bytes as in a file.
ORDER = ("--locale", "C", "--locale-provider", "icu", "--icu-locale", "en-US")


@dataclass
class Server:
    """A running server, and its superuser's connection for making and dropping databases."""

    port: int
    owner: psycopg.Connection
    _numbers: count = field(default_factory=count)
    _done: list[str] = field(default_factory=list)

    def url(self, name):
        """Return the address of a database for the ordinary role."""
        return f"postgresql+psycopg://{ROLE}@{HOST}:{self.port}/{name}"

    @contextmanager
    def database(self, template="template1"):
        """Copy a database that nobody is connected to, and give the copy's name."""
        self._drop()
        name = f"log_{next(self._numbers)}"
        self.owner.execute(
            # Copying files takes half the time of copying through the log of changes.
            f"CREATE DATABASE {name} OWNER {ROLE} TEMPLATE {template} STRATEGY file_copy"
        )
        try:
            yield name
        finally:
            self._done.append(name)

    def _drop(self):
        """Drop the databases that are done with, one test late.

        The server may not have noticed yet that a connection was closed a moment ago, and then
        dropping its database waits for a tenth of a second.
        """
        while self._done:
            self.owner.execute(f"DROP DATABASE {self._done.pop()} WITH (FORCE)")


def binaries():
    """Return the folder of the server's programs, or None: on the PATH, or Debian's newest."""
    on_path = shutil.which("initdb")
    debian = Path("/usr/lib/postgresql").glob("*/bin/initdb")
    newest_first = sorted(debian, key=_version, reverse=True)
    for found in filter(None, (on_path, *newest_first)):
        folder = Path(found).resolve().parent
        whole = all(shutil.which(name, path=folder) for name in ("initdb", "pg_ctl", "postgres"))
        if whole and _version(found) >= OLDEST:
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
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "stderr": subprocess.PIPE}
    command = [sys.executable, __file__]
    # In a session of its own, Ctrl+C in the terminal does not reach it before the tests are done.
    with subprocess.Popen(command, **pipes, text=True, start_new_session=True) as keeper:
        port = keeper.stdout.readline()
        if not port:
            raise RuntimeError(f"PostgreSQL did not start: {keeper.stderr.read()}")
        who = {"host": HOST, "port": int(port), "user": OWNER, "dbname": "postgres"}
        with closing(psycopg.connect(**who, autocommit=True)) as owner:
            owner.execute(f"CREATE ROLE {ROLE} LOGIN NOSUPERUSER NOBYPASSRLS")
            yield Server(int(port), owner)


def keep():
    """Start a server, say its port, and stop it when the input ends."""
    with _folder() as folder:
        data, port = folder / "data", _free_port()
        insecure = ("--auth", "trust", "--no-sync")
        _run(folder, "initdb", "-D", data, "-U", OWNER, "--encoding", "UTF8", *ORDER, *insecure)
        _configure(data, port)
        _run(folder, "pg_ctl", "start", "-w", "-D", data, "-l", folder / "server.txt")
        try:
            print(port, flush=True)
            sys.stdin.read()
        finally:
            _run(folder, "pg_ctl", "stop", "-w", "-D", data, "-m", "immediate")


@contextmanager
def _folder():
    """Make a private folder, in memory where there is room: each database is 300 files."""
    in_memory = RAM_DISK.is_dir() and os.access(RAM_DISK, os.W_OK)
    roomy = in_memory and shutil.disk_usage(RAM_DISK).free > ROOM_BYTES
    with tempfile.TemporaryDirectory(prefix="postgresql-", dir=RAM_DISK if roomy else None) as made:
        if _is_root():
            shutil.chown(made, ACCOUNT, ACCOUNT)
        yield Path(made)


def _run(folder, program, *arguments):
    """Run one of the server's programs, by an account that may."""
    ended = subprocess.run(
        [shutil.which(program, path=binaries()), *map(str, arguments)],
        cwd=folder,  # the account may be kept out of the folder that the tests were started in
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        **({"user": ACCOUNT, "group": ACCOUNT, "extra_groups": []} if _is_root() else {}),
    )
    if ended.returncode:
        said = [ended.stderr, *(log.read_text() for log in folder.glob("server.txt"))]
        raise RuntimeError(f"{program} ended with status {ended.returncode}: {''.join(said)}")


def _configure(data, port):
    lines = [f"{name} = '{value}'\n" for name, value in {**SETTINGS, "port": port}.items()]
    with (data / "postgresql.conf").open("a") as settings:
        settings.writelines(lines)


def _free_port():
    with socket.socket() as probe:
        probe.bind((HOST, 0))
        return probe.getsockname()[1]


def _version(initdb):
    said = subprocess.run([initdb, "--version"], capture_output=True, text=True).stdout
    found = re.search(r"\(PostgreSQL\) (\d+)", said)
    return int(found[1]) if found else 0


def _is_root():
    return hasattr(os, "geteuid") and os.geteuid() == 0


def _account_exists():
    import pwd  # there is none where there is no root

    return any(each.pw_name == ACCOUNT for each in pwd.getpwall())


if __name__ == "__main__":
    keep()
