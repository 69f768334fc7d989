"""On a server of many shops a connection sees the rows of its own shop, whatever it asks."""

import pytest
from sqlalchemy import create_engine, text
from sqlalchemy.exc import DBAPIError
from store_examples import BY, NOW, PASSING, fill

from advisor.store.log import open_log
from advisor.store.schema import metadata


@pytest.fixture
def two(postgresql_url):
    """Two shops with a coupon each, in one database."""
    logs = [fill(open_log(postgresql_url, name)) for name in ("North", "South")]
    for log in logs:
        log.add_coupon(PASSING, BY, NOW)
    yield logs
    for log in logs:
        log.close()


def count(connection, table):
    return connection.execute(text(f'SELECT count(*) FROM "{table}"')).scalar()  # noqa: S608


def test_a_query_that_forgets_the_shop_sees_one_shop_only(two):
    for log in two:
        with log._engine.begin() as connection:
            assert count(connection, "shop") == count(connection, "coupon") == 1
            for table in metadata.tables.values():
                if "shop_id" in table.c:
                    shops = connection.execute(
                        text(f'SELECT DISTINCT shop_id FROM "{table.name}"')  # noqa: S608
                    ).scalars()
                    assert set(shops) <= {log._shop}


def test_a_connection_that_names_no_shop_sees_nothing(two, postgresql_url):
    engine = create_engine(postgresql_url)
    with engine.begin() as connection:
        assert [count(connection, t) for t in ("shop", "coupon", "welder", "tally")] == [0] * 4
    engine.dispose()


def test_no_row_is_written_into_another_shop(two):
    north, south = two
    with (
        pytest.raises(DBAPIError, match="violates row-level security policy"),
        north._writer.begin() as connection,
    ):
        connection.execute(
            text("INSERT INTO coupon (shop_id, number) VALUES (:shop, 2)"), {"shop": south._shop}
        )
    with north._writer.begin() as connection:
        changed = connection.execute(text("UPDATE machine SET mains_hz = 60"))
        assert changed.rowcount == 2
    assert {machine.mains_hz for machine in south.machines()} == {50}


def test_every_table_of_a_shop_has_its_policy(two):
    with two[0]._engine.begin() as connection:
        guarded = connection.execute(
            text(
                "SELECT relname FROM pg_class JOIN pg_policy ON polrelid = pg_class.oid "
                "WHERE relrowsecurity AND relforcerowsecurity"
            )
        ).scalars()
        assert set(guarded) == set(metadata.tables)
