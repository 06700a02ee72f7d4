"""Write the triggers by which the database itself refuses to edit or remove a row."""

from typing import Final

# The last trigger of each table stops INSERT OR REPLACE, which deletes without asking the second.
_SQLITE: Final = """
CREATE TRIGGER {table}_never_edited BEFORE UPDATE ON "{table}"
BEGIN SELECT RAISE(ABORT, 'the journal is never edited: add a {table} instead'); END;

CREATE TRIGGER {table}_never_removed BEFORE DELETE ON "{table}"
BEGIN SELECT RAISE(ABORT, 'the journal is never edited: a {table} is never removed'); END;

CREATE TRIGGER {table}_never_replaced BEFORE INSERT ON "{table}"
WHEN EXISTS (SELECT 1 FROM "{table}" WHERE {same})
BEGIN SELECT RAISE(ABORT, 'the journal is never edited: a {table} is never replaced'); END;
"""
# PostgreSQL has no INSERT OR REPLACE: ON CONFLICT DO UPDATE meets the first trigger.
_POSTGRESQL: Final = """
CREATE OR REPLACE FUNCTION {table}_is_never_edited() RETURNS trigger LANGUAGE plpgsql AS
$$ BEGIN RAISE EXCEPTION 'the journal is never edited: a {table} is only added'; END $$;

CREATE TRIGGER {table}_never_edited BEFORE UPDATE OR DELETE ON "{table}"
FOR EACH ROW EXECUTE FUNCTION {table}_is_never_edited();

CREATE TRIGGER {table}_never_emptied BEFORE TRUNCATE ON "{table}"
FOR EACH STATEMENT EXECUTE FUNCTION {table}_is_never_edited();
"""
# The triggers of one table in each kind of database.
TRIGGERS: Final = {
    "sqlite": ("{table}_never_edited", "{table}_never_removed", "{table}_never_replaced"),
    "postgresql": ("{table}_never_edited", "{table}_never_emptied"),
}
# What makes a new row the same as an old one.
SAME: Final = {
    "record": "id = NEW.id OR number = NEW.number OR supersedes = NEW.supersedes",
    "file": "sha256 = NEW.sha256",
}


def guard(table: str, dialect: str) -> list[str]:
    """Give the statements that make a table only grow."""
    text = {"sqlite": _SQLITE, "postgresql": _POSTGRESQL}[dialect]
    return text.format(table=table, same=SAME[table]).strip().split("\n\n")


def unguard(table: str, dialect: str) -> list[str]:
    """Give the statements that lift the guard, for a migration that must fill a new column."""
    on = "" if dialect == "sqlite" else f' ON "{table}"'
    return [f"DROP TRIGGER IF EXISTS {name.format(table=table)}{on}" for name in TRIGGERS[dialect]]
