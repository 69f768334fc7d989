"""Opening a database: pragmas, migrations, many writers, and sentences for what goes wrong."""

from concurrent.futures import ThreadPoolExecutor

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import event, text
from store_examples import NOW, PASSING

from advisor.errors import StoreError
from advisor.store.engine import connect, default_url, demo_url
from advisor.store.log import open_log
from advisor.store.schema import metadata

READ_ONLY = {
    "sqlite": "PRAGMA query_only = ON",
    "postgresql": "SET default_transaction_read_only = on",
}


@pytest.fixture(scope="module", autouse=True)
def tables_copied():
    """Every new log goes through the migrations here."""


def test_migrations_make_exactly_the_tables_of_the_schema(bare_url):
    engine = connect(bare_url)
    with engine.begin() as connection:
        assert compare_metadata(MigrationContext.configure(connection), metadata) == []
    engine.dispose()


def test_sqlite_is_durable_and_checks_keys(sqlite_log):
    with sqlite_log._engine.begin() as connection:
        found = {
            name: connection.execute(text(f"PRAGMA {name}")).scalar()
            for name in ("journal_mode", "synchronous", "foreign_keys", "busy_timeout")
        }
    # synchronous 2 is FULL in SQLite's documentation.
    assert found == {
        "journal_mode": "wal",
        "synchronous": 2,
        "foreign_keys": 1,
        "busy_timeout": 30000,
    }


def test_postgresql_is_used_by_a_role_that_policies_hold(postgresql_url):
    engine = connect(postgresql_url)
    rights = text("SELECT rolsuper, rolbypassrls FROM pg_roles WHERE rolname = current_user")
    with engine.begin() as connection:
        assert connection.execute(rights).one() == (False, False)
    engine.dispose()


def test_eight_writers_at_once_lose_nothing(url, log):
    logs = [open_log(url) for _ in range(8)]

    def write(each):
        return [each.add_coupon(PASSING, "Kim", NOW).number for _ in range(10)]

    with ThreadPoolExecutor(8) as pool:
        numbers = sorted(n for found in pool.map(write, logs) for n in found)
    assert numbers == list(range(1, 81))
    for each in logs:
        each.close()


def test_a_newer_schema_is_left_alone(url, log):
    with log._writer.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    with pytest.raises(StoreError, match=r"newer version of this program \(schema 9999\)"):
        open_log(url)


def test_a_file_that_is_no_log_is_refused(tmp_path):
    (tmp_path / "log.sqlite").write_text("coupons, on paper " * 100)
    with pytest.raises(StoreError, match="the file is no log of this program"):
        open_log(f"sqlite:///{tmp_path / 'log.sqlite'}")


def test_a_folder_that_cannot_be_made_is_named(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(StoreError, match=r"cannot be made .*choose another with --data FOLDER"):
        open_log(f"sqlite:///{tmp_path / 'file' / 'log.sqlite'}")


def test_a_log_that_cannot_be_written_says_so_and_keeps_what_it_has(url, log):
    log.add_coupon(PASSING, "Kim", NOW)
    read_only = open_log(url)

    @event.listens_for(read_only._engine, "connect")
    def _readonly(connection, _):
        connection.execute(READ_ONLY[read_only._engine.dialect.name])
        connection.commit()

    read_only._engine.dispose()
    with pytest.raises(StoreError, match=r"cannot be written; check (its|the) rights"):
        read_only.add_coupon(PASSING, "Kim", NOW)
    assert len(list(read_only.iter_coupons())) == 1
    read_only.close()


def test_addresses_follow_the_environment(monkeypatch, tmp_path):
    monkeypatch.setenv("ADVISOR_DATA_DIR", str(tmp_path))
    monkeypatch.delenv("ADVISOR_DATABASE_URL", raising=False)
    assert default_url() == f"sqlite:///{tmp_path / 'log.sqlite'}"
    assert demo_url() == f"sqlite:///{tmp_path / 'demo.sqlite'}"
    monkeypatch.setenv("ADVISOR_DATABASE_URL", "postgresql+psycopg://server/log")
    assert default_url() == "postgresql+psycopg://server/log"
    assert demo_url().startswith("sqlite:///")
