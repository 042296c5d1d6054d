"""The guard of the records: triggers that refuse what nobody may do, whoever asks and by whatever road.

The SQL of every trigger stands here once, for SQLite and for PostgreSQL. `install` puts up what is not there or not
as written; it runs after every `migrate`, because Django rebuilds tables on SQLite and a rebuilt table has lost its
triggers without a word. `missing` compares name, definition and state; the server does not start while it lists
anything. What is guarded:

* frozen: rows of these tables are never changed, deleted, truncated or replaced;
* kept: rows that follow from the records change, but are never deleted;
* an item changes only while it is a stub (seen in a late scan before it was recorded), and its code never;
* a place keeps its site and its storage class, so that an old record keeps its meaning;
* a leg joins an act and an item of one site, and takes the next number of its item;
* an act that approves another is somebody else's; a void is not voided.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.apps import apps
from django.db import connections, models, transaction
from django.db.backends.base.base import BaseDatabaseWrapper

FROZEN = (
    "inventory.Act", "inventory.Leg", "inventory.Refusal", "inventory.LifeSpec", "inventory.LifeLimit",
    "inventory.StorageClass", "inventory.Lot", "inventory.CertValue", "inventory.Attachment", "inventory.ItemCode",
    "inventory.Reading", "inventory.Extension", "inventory.Exemption", "inventory.Disposition", "inventory.Kinetics",
    "inventory.Calibration", "inventory.TemperatureLog", "inventory.LogReadings", "inventory.LogWithdrawal", "inventory.LabelPrint",
    "inventory.CountTold",
    "layups.Inspection", "layups.Defect", "layups.Shipment", "layups.CureRecipe", "layups.CureChart",
)  # fmt: skip
KEPT = (
    "inventory.Item", "inventory.Location", "inventory.Edge", "inventory.ItemState", "inventory.Block",
    "inventory.Finding", "inventory.Nonconformance", "inventory.SupplierLabel", "inventory.CountSheet", "inventory.CountLine",
)  # fmt: skip
NEVER_REPLACED = ("inventory.Item", "inventory.Location")
"""Kept tables that are written by plain inserts; the others are written by upserts, which an insert guard would refuse."""

PARTIAL = {"item_mark_once_per_site": """e."mark" <> ''"""}
"""The condition of each partial unique constraint on a table with an insert guard, `e` being the row that stands."""

ITEM_STAYS = "item changes only while it is a stub, and its code stays"
PLACE_STAYS = "location keeps its site and storage class: retire it and make another"
LEG_SITE = "leg joins an act and an item of one site"
LEG_NEXT = "leg takes the next number of its item"
ACT_SECOND = "act that approves needs a second person of the same site"
ACT_VOID = "act to be voided is of this site and not itself a void"


@dataclass(frozen=True, slots=True)
class Guard:
    """One trigger: the statement that creates it, and on PostgreSQL the state it must be in ("A": always)."""

    table: str
    name: str
    sql: str
    state: str = ""


def install(connection: BaseDatabaseWrapper) -> None:
    """Put up every guard that is not there as written, on the tables that exist; take away guards no longer written."""
    tables = set(connection.introspection.table_names())
    wanted = {guard.name: guard for guard in _wanted(connection) if guard.table in tables}
    with transaction.atomic(using=connection.alias), connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            for name, text in _functions().items():
                if _standing_functions(cursor).get(name) != text:
                    cursor.execute(f"CREATE OR REPLACE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS $guard${text}$guard$")
        there = standing(connection)
        for name, guard in there.items():
            if wanted.get(name) != guard:
                _take_down(connection, cursor, guard)
        for name, guard in wanted.items():
            if there.get(name) != guard:
                cursor.execute(guard.sql)
                if guard.state:
                    cursor.execute(f"ALTER TABLE {guard.table} ENABLE ALWAYS TRIGGER {name}")


def missing(connection: BaseDatabaseWrapper) -> list[str]:
    """The guards that do not stand as written, each with what is wrong; empty when all is well."""
    there = standing(connection)
    wrong = [f"{guard.name} on {guard.table}: {why}" for guard in _wanted(connection) if (why := _wrong(guard, there.get(guard.name)))]
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            bodies = _standing_functions(cursor)
        wrong += [f"function {name}: not as written" for name, text in _functions().items() if bodies.get(name) != text]
    return wrong


def standing(connection: BaseDatabaseWrapper) -> dict[str, Guard]:
    """The guards that stand in the database, by name."""
    if connection.vendor == "sqlite":
        query = r"SELECT tbl_name, name, sql, '' FROM sqlite_master WHERE type = 'trigger' AND name LIKE 'guard\_%' ESCAPE '\'"
    else:
        query = r"""SELECT c.relname, t.tgname, pg_get_triggerdef(t.oid, true), t.tgenabled::text
            FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid
            WHERE NOT t.tgisinternal AND t.tgname LIKE 'guard\_%' AND c.relnamespace = current_schema()::regnamespace"""
    with connection.cursor() as cursor:
        cursor.execute(query)
        return {row[1]: Guard(*row) for row in cursor.fetchall()}


def after_migrate(using: str, **_: Any) -> None:
    """Receiver of post_migrate."""
    install(connections[using])


def before_migrate(using: str, plan: Any = (), **_: Any) -> None:
    """Receiver of pre_migrate. SQLite cannot rename a table while a trigger elsewhere names it, and Django rebuilds a
    table by renaming: the one guard that reads other tables steps aside until the migration is done."""
    connection = connections[using]
    if plan and connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            for guard in standing(connection).values():
                if guard.name.endswith("_joins"):
                    _take_down(connection, cursor, guard)


def _wrong(guard: Guard, found: Guard | None) -> str:
    if found is None or found.table != guard.table:
        return "is not there"
    if found.sql != guard.sql:
        return "has another text"
    return "" if found.state == guard.state else "is switched off"


def _wanted(connection: BaseDatabaseWrapper) -> list[Guard]:
    if connection.vendor == "sqlite":
        return _sqlite()
    if connection.vendor == "postgresql":
        return _postgresql()
    raise NotImplementedError(f"the records are guarded on SQLite and PostgreSQL, not on {connection.vendor}")


def _standing_functions(cursor: Any) -> dict[str, str]:
    cursor.execute(
        r"SELECT proname, prosrc FROM pg_proc WHERE proname LIKE 'selvedge\_%' AND pronamespace = current_schema()::regnamespace"
    )
    return dict(cursor.fetchall())


def _take_down(connection: BaseDatabaseWrapper, cursor: Any, guard: Guard) -> None:
    where = f" ON {guard.table}" if connection.vendor == "postgresql" else ""
    cursor.execute(f"DROP TRIGGER {guard.name}{where}")


def _model(label: str) -> type[models.Model]:
    return apps.get_model(label)


def _named(label: str) -> tuple[str, str]:
    """The table of a model and what a message calls it."""
    meta = _model(label)._meta
    return meta.db_table, str(meta.verbose_name)


# --- SQLite ----------------------------------------------------------------------------------------------------------


def _sqlite() -> list[Guard]:
    found: list[Guard] = []
    for label in FROZEN:
        found.append(_lite(label, "update", "BEFORE UPDATE", "{} is append-only"))
        found.append(_lite(label, "delete", "BEFORE DELETE", "{} is append-only"))
        found.append(_lite(label, "insert", "BEFORE INSERT", "{} is append-only: one with this key stands already", _stands_already(label)))
    for label in KEPT:
        found.append(_lite(label, "delete", "BEFORE DELETE", "{} is never deleted"))
    for label in NEVER_REPLACED:
        message = "{} is never replaced: one with this key stands already"
        found.append(_lite(label, "insert", "BEFORE INSERT", message, _stands_already(label)))
    return found + _sqlite_rules()


def _sqlite_rules() -> list[Guard]:
    """The guards of single rules."""
    act, item, leg = (_named(f"inventory.{name}")[0] for name in ("Act", "Item", "Leg"))
    one_site = f"SELECT 1 FROM {act} a JOIN {item} i ON i.site_id = a.site_id WHERE a.id = NEW.act_id AND i.id = NEW.item_id"
    before = f"SELECT 1 FROM {leg} p WHERE p.item_id = NEW.item_id AND p.seq = NEW.seq - 1"
    asked = f"SELECT 1 FROM {act} a WHERE a.id = NEW.approves_id AND a.site_id = NEW.site_id AND a.person_id <> NEW.person_id"
    wrong = f"SELECT 1 FROM {act} a WHERE a.id = NEW.voids_id AND a.site_id = NEW.site_id AND a.kind <> 'void'"
    completed = f"NOT OLD.stub OR {_changes('id', 'site_id', 'code')}"
    return [
        _lite("inventory.Item", "update", "BEFORE UPDATE", ITEM_STAYS, completed),
        _lite("inventory.Location", "update", "BEFORE UPDATE", PLACE_STAYS, _changes("id", "site_id", "storage_id")),
        _lite("inventory.Leg", "site_joins", "AFTER INSERT", LEG_SITE, f"NOT EXISTS ({one_site})"),
        _lite("inventory.Leg", "next", "AFTER INSERT", LEG_NEXT, f"NEW.seq > 1 AND NOT EXISTS ({before})"),
        _lite("inventory.Act", "second", "AFTER INSERT", ACT_SECOND, f"NEW.approves_id IS NOT NULL AND NOT EXISTS ({asked})"),
        _lite("inventory.Act", "void", "AFTER INSERT", ACT_VOID, f"NEW.voids_id IS NOT NULL AND NOT EXISTS ({wrong})"),
    ]


def _lite(label: str, suffix: str, event: str, message: str, when: str = "") -> Guard:
    table, word = _named(label)
    name, condition = f"guard_{table}_{suffix}", f" WHEN {when}" if when else ""
    text = f"CREATE TRIGGER {name} {event} ON \"{table}\"{condition} BEGIN SELECT RAISE(ABORT, 'selvedge: {message.format(word)}'); END"
    return Guard(table, name, text)


def _changes(*columns: str) -> str:
    return " OR ".join(f"NEW.{c} IS NOT OLD.{c}" for c in columns)


def _stands_already(label: str) -> str:
    """Whether a row with the new row's key, or any other unique value of it, stands: REPLACE would delete that row,
    and where recursive triggers are off (a shell on the file) no delete trigger would fire."""
    table = _named(label)[0]
    tests = [(" AND ".join(f'e."{c}" = NEW."{c}"' for c in columns), extra) for columns, extra in _unique(_model(label))]
    return " OR ".join(f'EXISTS (SELECT 1 FROM "{table}" e WHERE {test}{extra})' for test, extra in tests)


def _unique(model: type[models.Model]) -> list[tuple[list[str], str]]:
    """The sets of columns that are unique in a model's table, each with the condition under which it is."""
    found = [([str(field.column)], "") for field in model._meta.local_concrete_fields if field.unique]
    for rule in model._meta.constraints:
        if isinstance(rule, models.UniqueConstraint):
            columns = [str(model._meta.get_field(name).column) for name in rule.fields]  # type: ignore[union-attr]
            found.append((columns, f" AND {PARTIAL[rule.name]}" if rule.condition else ""))
    return found


# --- PostgreSQL ------------------------------------------------------------------------------------------------------


def _postgresql() -> list[Guard]:
    found: list[Guard] = []

    def add(label: str, suffix: str, event: str, function: str, message: str = "", each: str = "ROW") -> None:
        table, word = _named(label)
        name = f"guard_{table}_{suffix}"
        argument = f"'{message.format(word)}'" if message else ""
        # Word for word what pg_get_triggerdef gives back, so that it can be compared.
        text = f"CREATE TRIGGER {name} {event} ON {table} FOR EACH {each} EXECUTE FUNCTION {function}({argument})"
        found.append(Guard(table, name, text, "A"))

    for label in FROZEN:
        add(label, "change", "BEFORE DELETE OR UPDATE", "selvedge_refuse", "{} is append-only")
        add(label, "truncate", "BEFORE TRUNCATE", "selvedge_refuse", "{} is append-only", "STATEMENT")
    for label in KEPT:
        add(label, "delete", "BEFORE DELETE", "selvedge_refuse", "{} is never deleted")
        add(label, "truncate", "BEFORE TRUNCATE", "selvedge_refuse", "{} is never deleted", "STATEMENT")
    add("inventory.Item", "update", "BEFORE UPDATE", "selvedge_item_stays")
    add("inventory.Location", "update", "BEFORE UPDATE", "selvedge_place_stays")
    # After the statement's rows stand: one statement may insert an act and its legs in either order.
    add("inventory.Leg", "joins", "AFTER INSERT", "selvedge_leg_joins")
    add("inventory.Act", "second", "AFTER INSERT", "selvedge_act_second")
    return found


def _functions() -> dict[str, str]:
    """The bodies of the trigger functions, by name."""
    act, item, leg = (_named(f"inventory.{name}")[0] for name in ("Act", "Item", "Leg"))
    one_site = f"SELECT 1 FROM {act} a JOIN {item} i ON i.site_id = a.site_id WHERE a.id = NEW.act_id AND i.id = NEW.item_id"
    before = f"SELECT 1 FROM {leg} p WHERE p.item_id = NEW.item_id AND p.seq = NEW.seq - 1"
    asked = f"SELECT 1 FROM {act} a WHERE a.id = NEW.approves_id AND a.site_id = NEW.site_id AND a.person_id <> NEW.person_id"
    wrong = f"SELECT 1 FROM {act} a WHERE a.id = NEW.voids_id AND a.site_id = NEW.site_id AND a.kind <> 'void'"
    completed = "NOT OLD.stub OR (NEW.id, NEW.site_id, NEW.code) IS DISTINCT FROM (OLD.id, OLD.site_id, OLD.code)"
    moved = "(NEW.id, NEW.site_id, NEW.storage_id) IS DISTINCT FROM (OLD.id, OLD.site_id, OLD.storage_id)"
    return {
        "selvedge_refuse": "BEGIN RAISE EXCEPTION 'selvedge: %', TG_ARGV[0] USING ERRCODE = 'restrict_violation'; END",
        "selvedge_item_stays": _body((completed, ITEM_STAYS)),
        "selvedge_place_stays": _body((moved, PLACE_STAYS)),
        "selvedge_leg_joins": _body((f"NOT EXISTS ({one_site})", LEG_SITE), (f"NEW.seq > 1 AND NOT EXISTS ({before})", LEG_NEXT)),
        "selvedge_act_second": _body(
            (f"NEW.approves_id IS NOT NULL AND NOT EXISTS ({asked})", ACT_SECOND),
            (f"NEW.voids_id IS NOT NULL AND NOT EXISTS ({wrong})", ACT_VOID),
        ),
    }


def _body(*rules: tuple[str, str]) -> str:
    """A function that refuses where a condition holds. Error class 23, so that a driver calls it an integrity error."""
    refusals = "".join(
        f"IF {when} THEN RAISE EXCEPTION 'selvedge: {why}' USING ERRCODE = 'restrict_violation'; END IF; " for when, why in rules
    )
    return f"BEGIN {refusals}RETURN NEW; END"
