"""What lies on the server, and who may do what there.

A schema of its own for each layout: a newer version lays out another beside it, and the benches
fill that anew from their records. A bench may add, the office may read, nobody may change or take
away: by rights, and by triggers that hold the owner to it too. Rows belong to the line of
`kept_sources` that came with them in one transaction; nobody adds to an older one, or to another's.
"""

from __future__ import annotations

import hashlib

from burnin.history.columns import Column, Kind
from burnin.history.tables import IN_DATABASE, OF_RECORD, OF_TICKET, SOURCES, Table

BENCH, OFFICE = "burnin_bench", "burnin_office"
"""Roles that a shop gives to its benches and to whoever asks."""
SILENT_DAYS = 30
"""A bench that brought nothing for so long after the others counts as taken out of use."""
_SQL = {
    Kind.TEXT: "text",
    Kind.WHOLE: "bigint",
    Kind.NUMBER: "double precision",
    Kind.TRUTH: "boolean",
    Kind.MOMENT: "timestamp",
    Kind.PLAIN: "text",
}
OF_SOURCE = (
    Column("entry", Kind.TEXT, "this line, named by what it says"),
    Column("origin", Kind.TEXT, "the machine and its folder of results"),
    Column("thing", Kind.TEXT, "the run's key, or the ticket's number"),
    Column("seal", Kind.TEXT, "HMAC-SHA-256 over this line, its rows and the seal before it"),
    Column("seal_before", Kind.TEXT, "seal of the line before it, of the same origin"),
    Column("sealed_by", Kind.TEXT, "which of the shop's keys sealed it"),
)
"""What a bench says of each line beside the columns of `sources`."""
KEPT_SOURCES = (*OF_SOURCE, *SOURCES.columns)

_SHOWN = """
CREATE VIEW newest AS
SELECT DISTINCT ON (by_role, origin, place, kind) * FROM kept_sources
ORDER BY by_role, origin, place, kind, seq DESC;

CREATE VIEW shown AS
SELECT DISTINCT ON (kind, thing) entry FROM newest WHERE state = 'taken'
ORDER BY kind, thing, CASE kind WHEN 'record' THEN seq ELSE -seq END;

CREATE VIEW mine AS SELECT * FROM newest WHERE by_role = session_user;

CREATE VIEW last_seal AS
SELECT DISTINCT ON (origin) origin, seal FROM kept_sources WHERE by_role = session_user
ORDER BY origin, seq DESC;

CREATE VIEW one_card AS
SELECT card_uuid, min(card_serial) AS card_serial FROM kept_runs JOIN shown USING (entry)
WHERE card_uuid <> '' AND card_serial <> '' GROUP BY card_uuid;

CREATE VIEW store AS
SELECT min(at_utc) AS synced_utc FROM
  (SELECT max(at_utc) AS at_utc FROM kept_syncs GROUP BY by_role, origin) AS last
WHERE at_utc > (SELECT max(at_utc) FROM kept_syncs) - interval '{silent_days} days';
"""
_CARDS = """
CREATE VIEW cards AS
SELECT DISTINCT ON (card_key) card_key, bool_and(of_real_card) OVER every AS of_real_card,
  card_name, card_vendor_id, card_device_id, card_serial, card_uuid, card_firmware_version,
  min(started_utc) OVER every AS first_seen_utc, max(started_utc) OVER every AS last_seen_utc,
  count(*) OVER every AS runs_count, file, file_sha256
FROM runs WHERE card_told WINDOW every AS (PARTITION BY card_key)
ORDER BY card_key, started_utc DESC, run_key;
"""
_HELD_FAST = """
CREATE FUNCTION nothing_is_changed() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  RAISE EXCEPTION '% is only ever added to', TG_TABLE_NAME USING ERRCODE = '42501';
END $$;

CREATE FUNCTION rows_come_with_their_source() RETURNS trigger
LANGUAGE plpgsql SECURITY DEFINER SET search_path = {schema}, pg_temp AS $$
BEGIN
  IF EXISTS (
    SELECT 1 FROM (SELECT DISTINCT entry FROM coming) AS c LEFT JOIN kept_sources USING (entry)
    WHERE by_role IS DISTINCT FROM session_user::text
      OR xact IS DISTINCT FROM pg_current_xact_id()::text
  ) THEN
    RAISE EXCEPTION 'rows for a line of sources that did not come with them'
      USING ERRCODE = '42501';
  END IF;
  RETURN NULL;
END $$;
"""


def _columns(columns: tuple[Column, ...]) -> str:
    return ", ".join(f'"{column.name}" {_SQL[column.kind]}' for column in columns)


def names_of(columns: tuple[Column, ...]) -> str:
    """Columns as a statement lists them."""
    return ", ".join(f'"{column.name}"' for column in columns)


def _table(table: Table) -> str:
    name, one_key = table.name, ""
    if any(column.name == "card_key" for column in table.columns):
        one_key = " LEFT JOIN one_card ON one_card.card_uuid = t.card_key"
    shown = ", ".join(
        'coalesce(one_card.card_serial, t."card_key") AS "card_key"'
        if column.name == "card_key" and one_key
        else f't."{column.name}"'
        for column in table.columns
    )
    return f"""
CREATE TABLE kept_{name} (entry text NOT NULL, {_columns(table.columns)});
CREATE INDEX ON kept_{name} (entry);
CREATE TRIGGER come_with AFTER INSERT ON kept_{name} REFERENCING NEW TABLE AS coming
FOR EACH STATEMENT EXECUTE FUNCTION rows_come_with_their_source();
@views
CREATE VIEW {name} AS SELECT {shown} FROM kept_{name} AS t JOIN shown USING (entry){one_key};
"""


def _told(table: Table) -> str:
    lines = []
    for column in table.columns:
        unit = f" ({column.unit})" if column.unit else ""
        told = f"{column.what}{unit}".replace("'", "''")
        lines.append(f"COMMENT ON COLUMN {table.name}.\"{column.name}\" IS '{told}';")
    return "\n".join(lines)


def _statements(schema: str) -> str:
    parts = [_table(table).partition("@views") for table in (*OF_RECORD, *OF_TICKET)]
    kept = ["kept_sources", "kept_syncs", *(f"kept_{t.name}" for t in (*OF_RECORD, *OF_TICKET))]
    return "\n".join(
        (
            _HELD_FAST.format(schema=schema),
            f"CREATE TABLE kept_sources ({_columns(KEPT_SOURCES)}, PRIMARY KEY (entry),"
            " by_role text NOT NULL DEFAULT session_user,"
            " seq bigint GENERATED ALWAYS AS IDENTITY,"
            " xact text NOT NULL DEFAULT pg_current_xact_id()::text);",
            "CREATE INDEX ON kept_sources (by_role, origin, place, kind, seq DESC);",
            "CREATE INDEX ON kept_sources (by_role, origin, seq DESC);",
            "CREATE TABLE kept_syncs (origin text NOT NULL,"
            " at_utc timestamp NOT NULL DEFAULT (now() AT TIME ZONE 'UTC'),"
            " by_role text NOT NULL DEFAULT session_user);",
            *(made for made, _, _ in parts),
            _SHOWN.format(silent_days=SILENT_DAYS),
            f"CREATE VIEW sources AS SELECT {names_of(SOURCES.columns)} FROM newest"
            " WHERE state <> 'gone';",
            *(views for _, _, views in parts),
            _CARDS,
            *map(_told, IN_DATABASE),
            *(
                f"CREATE TRIGGER held_fast BEFORE UPDATE OR DELETE OR TRUNCATE ON {name}"
                " FOR EACH STATEMENT EXECUTE FUNCTION nothing_is_changed();"
                for name in kept
            ),
            f"GRANT USAGE ON SCHEMA {schema} TO {BENCH}, {OFFICE};",
            f"GRANT SELECT ON ALL TABLES IN SCHEMA {schema} TO {OFFICE};",
            f"GRANT SELECT ON mine, last_seal TO {BENCH};",
            f"GRANT INSERT ({names_of(KEPT_SOURCES)}) ON kept_sources TO {BENCH};",
            f"GRANT INSERT (origin) ON kept_syncs TO {BENCH};",
            f"GRANT INSERT ON {', '.join(kept[2:])} TO {BENCH};",
        )
    )


SCHEMA = f"burnin_{hashlib.sha256(_statements('').encode()).hexdigest()[:16]}"
"""Named by all that is laid out in it."""


def statements() -> str:
    """All that makes the layout, in the schema that stands in the search path."""
    return _statements(SCHEMA)


ROLES = "\n".join(
    f"IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = '{role}') THEN"
    f" CREATE ROLE {role} NOLOGIN; END IF;"
    for role in (BENCH, OFFICE)
)
