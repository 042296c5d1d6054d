"""The database itself refuses to change, delete or replace a record, whoever asks, on both databases."""

from __future__ import annotations

import ast
import copy
from pathlib import Path

import pytest
from django.apps import apps
from django.core.management import call_command
from django.db import DatabaseError, IntegrityError, connection, transaction
from django.db.models import Model, ProtectedError
from django.db.models.signals import pre_migrate

from inventory import ledger_guard
from inventory.models import Act, Item, Leg, Location, Person, Site, StorageClass
from tests.ledger import attacks
from tests.ledger.rows import one_of_each
from tests.ledger.shop import Shop
from tests.unlocked import unlocked

VENDOR = connection.vendor
# A place and an item may change in part: what may not is tested below, by name.
KEPT = [label for label in ledger_guard.KEPT if label not in ledger_guard.NEVER_REPLACED]
PAIRS = (
    [(label, attack) for label in (*ledger_guard.FROZEN, "inventory.Item") for attack in attacks.on_frozen(VENDOR)]
    + [(label, attack) for label in KEPT for attack in attacks.on_kept(VENDOR)]
    + [("inventory.Location", attack) for attack in attacks.on_kept(VENDOR)]
)
if VENDOR == "sqlite":
    PAIRS.append(("inventory.Location", attacks.insert_or_replace_without_recursive_triggers))


def assert_refused(row: Model, attack: attacks.Attack) -> None:
    with pytest.raises((DatabaseError, ProtectedError)) as caught, transaction.atomic():
        attack(row)
        connection.check_constraints()
    if not isinstance(caught.value, ProtectedError):
        assert isinstance(caught.value, IntegrityError), caught.value
        assert "selvedge: " in str(caught.value)


@pytest.mark.django_db
@pytest.mark.parametrize(("label", "attack"), PAIRS, ids=lambda value: value if isinstance(value, str) else value.__name__)
def test_a_record_withstands(label: str, attack: attacks.Attack) -> None:
    assert_refused(one_of_each(Shop())[label], attack)


@pytest.mark.django_db(transaction=True)
def test_every_record_withstands_again_after_tables_were_rebuilt_and_migrations_run() -> None:
    labels = (*ledger_guard.FROZEN, *ledger_guard.KEPT)
    for label in labels:
        rebuild(apps.get_model(label))
    if VENDOR == "sqlite":
        assert len(ledger_guard.missing(connection)) > 60  # what happens without a word
    call_command("migrate", verbosity=0, skip_checks=True)
    assert ledger_guard.missing(connection) == []
    rows = one_of_each(Shop())
    for label, attack in PAIRS:
        assert_refused(rows[label], attack)


def rebuild(model: type[Model]) -> None:
    """Alter a table as a migration would, which on SQLite makes a new one; the names are there already, so nothing differs."""
    pre_migrate.send(sender=apps.get_app_config("inventory"), using="default", plan=["something to do"])
    with connection.schema_editor() as editor:
        if hasattr(editor, "_remake_table"):
            editor._remake_table(model)
        else:
            field = next(f for f in model._meta.local_concrete_fields if not f.unique)
            editor.execute(f"ALTER TABLE {model._meta.db_table} ALTER COLUMN {field.column} SET STATISTICS 100")


@pytest.mark.django_db
def test_a_parent_row_takes_no_record_with_it() -> None:
    shop = Shop()
    one_of_each(shop)
    for parent in (shop.site, shop.ines, shop.device, shop.supplier, shop.customer, shop.material("um")):
        table = parent._meta.db_table
        with pytest.raises(IntegrityError), transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(f"DELETE FROM {table} WHERE id = %s", [parent.pk])
            connection.check_constraints()
        with pytest.raises(ProtectedError):
            parent.delete()


@pytest.mark.django_db
def test_a_stub_is_completed_once_and_keeps_its_code() -> None:
    shop = Shop()
    stub = shop.item("roll", stub=True)
    shop.flush()
    for column, value in (("code", "'OTHER'"), ("site_id", "0"), ("id", "7")):
        with pytest.raises(IntegrityError, match="only while it is a stub"), transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(f"UPDATE inventory_item SET {column} = {value} WHERE id = %s", [stub.pk])
    Item.objects.filter(pk=stub.pk).update(kind="kit", mark="K-9")
    Item.objects.filter(pk=stub.pk).update(stub=False)
    with pytest.raises(IntegrityError, match="only while it is a stub"), transaction.atomic():
        Item.objects.filter(pk=stub.pk).update(stub=True)


@pytest.mark.django_db
def test_a_place_may_be_renamed_but_never_becomes_warmer() -> None:
    shop = Shop()
    warm = StorageClass.objects.create(site=shop.site, name="warm", low_mc=15_000, high_mc=25_000)
    other = Site.objects.create(code="other", name="Another yard")
    Location.objects.filter(pk=shop.place.pk).update(name="Freezer by the door")
    for change in ({"storage": warm}, {"site": other}, {"id": 77_777}):
        with pytest.raises(IntegrityError, match="retire it and make another"), transaction.atomic():
            Location.objects.filter(pk=shop.place.pk).update(**change)


@pytest.mark.django_db
def test_a_leg_joins_an_act_and_an_item_of_one_site() -> None:
    shop, other = Shop(), Shop()
    act, theirs = shop.act("move"), other.item("roll")
    shop.flush()
    other.flush()
    with pytest.raises(IntegrityError, match="of one site"), transaction.atomic():
        Leg.objects.create(act=act, item=theirs, seq=1)


@pytest.mark.django_db
def test_the_numbers_of_an_items_legs_have_no_gap() -> None:
    shop = Shop()
    roll = shop.item("roll")
    shop.act("move", deltas={roll: 0})
    second = shop.act("move")
    shop.flush()
    with pytest.raises(IntegrityError, match="next number of its item"), transaction.atomic():
        Leg.objects.create(act=second, item=roll, seq=3)
    Leg.objects.create(act=second, item=roll, seq=2)


@pytest.mark.django_db
def test_an_approval_needs_a_second_person() -> None:
    shop, other = Shop(), Shop()
    asked = shop.act("extend_ask")
    shop.flush()
    for more in ({"person": shop.ines}, {"person": other.marek, "site": other.site}):
        shop.act("extend", approves=asked, **more)
        with pytest.raises(IntegrityError, match="second person"), transaction.atomic():
            shop.flush()
        shop._new[Act].clear()
    shop.act("extend", approves=asked, person=shop.marek)
    shop.flush()


@pytest.mark.django_db
def test_a_void_is_not_voided() -> None:
    shop = Shop()
    roll = shop.item("roll")
    wrong = shop.act("adjust", deltas={roll: -1})
    void = shop.void(wrong)
    shop.flush()
    with pytest.raises(IntegrityError, match="not itself a void"), transaction.atomic():
        shop.void(void)
        shop.flush()


@pytest.mark.django_db
def test_what_is_missing_is_named() -> None:
    where = " ON inventory_act" if VENDOR == "postgresql" else ""
    name = "guard_inventory_act_change" if VENDOR == "postgresql" else "guard_inventory_act_update"
    with connection.cursor() as cursor:
        cursor.execute(f"DROP TRIGGER {name}{where}")
    assert ledger_guard.missing(connection) == [f"{name} on inventory_act: is not there"]
    ledger_guard.install(connection)
    assert ledger_guard.missing(connection) == []


@pytest.mark.django_db
def test_a_guard_with_another_text_is_found_and_put_right() -> None:
    with connection.cursor() as cursor:
        if VENDOR == "sqlite":
            cursor.execute("DROP TRIGGER guard_inventory_leg_delete")
            cursor.execute("CREATE TRIGGER guard_inventory_leg_delete BEFORE DELETE ON inventory_leg BEGIN SELECT 1; END")
            expected = ["guard_inventory_leg_delete on inventory_leg: has another text"]
        else:
            cursor.execute(
                "CREATE OR REPLACE FUNCTION selvedge_refuse() RETURNS trigger LANGUAGE plpgsql AS $$BEGIN RETURN COALESCE(NEW, OLD); END$$"
            )
            cursor.execute("ALTER TABLE inventory_leg DISABLE TRIGGER guard_inventory_leg_change")
            expected = ["guard_inventory_leg_change on inventory_leg: is switched off", "function selvedge_refuse: not as written"]
    assert ledger_guard.missing(connection) == expected
    ledger_guard.install(connection)
    assert ledger_guard.missing(connection) == []
    assert_refused(one_of_each(Shop())["inventory.Leg"], attacks.raw_delete)


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("time", ["first", "second"])
def test_a_test_that_commits_leaves_nothing_behind_and_the_guard_in_place(time: str) -> None:
    assert Act.objects.count() == 0 and Person.objects.count() == 0, time
    assert ledger_guard.missing(connection) == []
    one_of_each(Shop())


@pytest.mark.django_db(transaction=True)
def test_the_guard_steps_aside_in_tests_only_while_asked() -> None:
    row = one_of_each(Shop())["inventory.Refusal"]
    with unlocked(connection):
        row.delete()
    assert ledger_guard.missing(connection) == []


def test_nothing_but_the_guard_itself_and_tests_names_the_drop() -> None:
    root = Path(ledger_guard.__file__).parents[1]
    found = []
    for folder in ("inventory", "layups", "api", "deploy"):
        for file in sorted((root / folder).rglob("*")):
            if file.suffix in {".py", ".sql", ".sh", ""} and file.is_file():
                text = file.read_text(errors="replace").upper()
                if any(words in text for words in ("DROP TRIGGER", "DISABLE TRIGGER", "SESSION_REPLICATION_ROLE", "UNLOCKED(")):
                    found.append(str(file.relative_to(root)))
    assert found == ["inventory/ledger_guard.py"]
    names = {node.name for node in ast.parse(Path(ledger_guard.__file__).read_text()).body if isinstance(node, ast.FunctionDef)}
    assert {name for name in names if not name.startswith("_")} == {"install", "missing", "standing", "after_migrate", "before_migrate"}


def outcome(row: Model, attack: attacks.Attack) -> str:
    """What came of an attack; nothing it did stays."""
    try:
        with transaction.atomic():
            attack(copy.copy(row))  # a delete that works takes the key off the row
            connection.check_constraints()
            transaction.set_rollback(True)
    except (DatabaseError, ProtectedError) as refused:
        return str(refused).splitlines()[0]
    return "it went through"


@pytest.mark.django_db
def test_each_guard_is_needed_for_some_attack_or_rule() -> None:
    """With one guard down, some attack on its table ends otherwise; the guards of single rules are tested by name above."""
    rows = one_of_each(Shop())
    tables = {apps.get_model(label)._meta.db_table: label for label, _ in PAIRS}
    tried = {label: [attack for other, attack in PAIRS if other == label] for label in tables.values()}
    with_all = {label: [outcome(rows[label], attack) for attack in tried[label]] for label in tried}
    general = ("_update", "_delete", "_insert", "_change", "_truncate")
    for guard in ledger_guard.standing(connection).values():
        label = tables[guard.table]
        if not guard.name.endswith(general) or guard.name == "guard_inventory_location_update":
            continue
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE" if VENDOR == "postgresql" else "SELECT 1")
            cursor.execute(f"DROP TRIGGER {guard.name}" + (f" ON {guard.table}" if VENDOR == "postgresql" else ""))
            assert any(outcome(rows[label], attack) != was for attack, was in zip(tried[label], with_all[label], strict=True)), guard.name
            transaction.set_rollback(True)
