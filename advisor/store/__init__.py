"""The log: tables, migrations, queries. The only rooms that know a database."""
