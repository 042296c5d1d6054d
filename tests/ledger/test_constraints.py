"""Every constraint of the models bites in the database: for each there is a row that breaks it, and it alone."""

from __future__ import annotations

import itertools
import uuid
from collections.abc import Iterator
from datetime import date
from typing import Any

import pytest
from django.apps import apps
from django.db import IntegrityError, connection, models, transaction

from inventory.models import (
    CertLimit,
    Customer,
    Delivery,
    Flag,
    Job,
    Notice,
    Outbox,
    Probe,
    Recipe,
    Role,
    Site,
    Supplier,
    Token,
    User,
)
from inventory.models.materials import THREADS
from layups.models import Consumable, CuredPly, CureRun, Design, Infusion, Part, Ply, RoomLimit, TighterLimit, Window
from tests.ledger.rows import one_of_each
from tests.ledger.shop import Shop
from tests.unlocked import take_down

pytestmark = pytest.mark.django_db
Row = dict[str, Any]
_fresh = itertools.count(5_000_000_000)

CHECKS: dict[str, tuple[Row, ...]] = {
    "person_language_known": ({"language": "xx"},),
    "person_units_known": ({"units": "stone"},),
    "material_kind_known": ({"kind": "cloth"},),
    "material_unit_known": ({"unit": "yd"},),
    "material_weave_known": ({"weave": "knit"},),
    "material_threads_above_zero": tuple({field: 0} for field in THREADS),
    "fabric_has_width_and_areal_weight": (
        {"width_um": None, "usable_width_um": None},
        {"areal_mg_m2": None},
        {"kind": "ud", "areal_mg_m2": 0},
        {"kind": "mat", "width_um": -1, "usable_width_um": -1},
    ),
    "tow_has_linear_density": ({"kind": "tow"}, {"kind": "tow", "tex_ug_m": 0}),
    "prepreg_has_width_and_areal_weight": ({"kind": "prepreg", "areal_mg_m2": None}, {"kind": "prepreg", "areal_mg_m2": 0, "tex_ug_m": 0}),
    "liquids_are_kept_by_mass": tuple(
        {"kind": kind, "unit": "um", "hazard": "peroxide"} for kind in ("resin", "hardener", "peroxide", "promoter", "gelcoat")
    ),
    "peroxide_says_so": ({"kind": "peroxide", "unit": "ug", "hazard": ""},),
    "usable_width_within_width": ({"usable_width_um": 1_270_001}, {"kind": "core", "width_um": None}),
    "material_grade_known": ({"grade": "rack"},),
    "equivalent_weights_above_zero": ({"eew_mg_mol": 0}, {"ahew_mg_mol": -1}),
    "recipe_ready_not_before_mixing": ({"ready_us": -1},),
    "recipe_open_time_has_its_temperature": ({"open_us": 1}, {"open_temp_mc": 1}, {"open_us": 0, "open_temp_mc": 1}),
    "kinetics_of_one_thing": ({"recipe_id": 5}, {"material_id": None}),
    "kinetics_form_known": ({"form": "guess"},),
    "kinetics_have_a_source": ({"source": ""}, {"name": ""}),
    "kinetics_range_in_order": ({"low_mc": 80_001}, {"low_mc": None}, {"high_mc": None}),
    "kinetics_heat_above_zero": ({"heat_j_kg": 0},),
    "kinetics_capacity_above_zero": ({"heat_capacity": 0},),
    "kinetics_gel_known": ({"gel_by": "eye"},),
    "kinetics_viscosity_given": ({"gel_by": "viscosity"},),
    "kinetics_gel_after_the_start": ({"seed_ppm": -1}, {"seed_ppm": 577_000}, {"gel_ppm": 1_000_000}),
    "kinetics_glass_whole": ({"tg0_mc": None}, {"lambda_ppm": None}, {"tg0_mc": 9}, {"lambda_ppm": 0}),
    "life_clock_known": ({"clock": "lunar"},),
    "life_checkpoint_known": ({"checkpoint": "sold"},),
    "life_limit_has_what_its_clock_needs": (
        {"clock": "calendar"},
        {"clock": "opened", "months": 0},
        {"clock": "received", "limit_us": -1},
        {"clock": "above", "limit_us": 5},
        {"clock": "above", "threshold_mc": 5},
        {"clock": "moisture"},
        {"clock": "cycles", "limit_us": 5},
        {"clock": "heats", "limit_n": 0},
        {"clock": "fraction"},
    ),
    "ageing_has_energy_and_reference": (
        {"ageing_j_mol": 60_000},
        {"ageing_ref_mc": 23_000},
        {"ageing_j_mol": 60, "ageing_ref_mc": 23_000},
        {"ageing_j_mol": 300_001, "ageing_ref_mc": 23_000},
        {"ageing_j_mol": 60_000, "ageing_ref_mc": 100_001},
    ),
    "probe_measures_something": ({"measures": "draught"},),
    "calibration_days_in_order": ({"due_on": date(2025, 12, 31)},),
    "log_of_a_place_or_a_delivery": ({"location_id": None}, {"delivery_id": 1}),
    "log_times_in_order": ({"last_us": 0},),
    "log_temperatures_in_order": ({"most_mc": -18_001},),
    "withdrawal_has_a_reason": ({"reason": ""},),
    "count_ended_by_somebody": ({"ended_us": 5}, {"ended_by_id": 5}),
    "count_left_off_is_over": ({"dropped": True},),
    "count_line_counted_at_an_instant": ({"counted": 5}, {"measured_us": 5}, {"counted": -1, "measured_us": 5}),
    "count_line_seen_by_somebody": ({"seen_us": 5}, {"seen_by_id": 5}),
    "count_line_settled_by_a_word": ({"settled_us": 5, "settled": "x"}, {"settled_us": 5, "settled_by_id": 5}),
    "location_count_interval": ({"count_days": 0}, {"count_days": 3651}),
    "supplier_label_known": ({"known_by": "colour"}, {"value": ""}),
    "supplier_label_ended_by_somebody": ({"ended_us": 5},),
    "job_state_known": ({"state": "asleep"},),
    "job_progress_not_negative": ({"done": -1}, {"total": -1}),
    "recipe_limits_in_order": ({"low_ppm": 0}, {"low_ppm": 251_000}, {"target_ppm": 300_000}),
    "peroxide_has_a_cap": ({"kind": "peroxide"}, {"kind": "peroxide", "never_ppm": 260_000}),
    "role_known": ({"role": "captain"},),
    "item_kind_known": ({"kind": "sack"},),
    "item_unit_known": ({"unit": "yd"},),
    "attachment_not_empty": ({"size": 0},),
    "storage_class_band_in_order": ({"low_mc": -17_999},),
    "location_limit_positive": ({"max_ug": 0},),
    "label_of_one_thing": ({"location_id": 5}, {"item_id": None}),
    "label_copies_positive": ({"copies": 0},),
    "reading_above_absolute_zero": ({"temp_mc": -273_151},),
    "act_not_in_the_future": ({"happened_us": 10**15 + 1},),
    "void_has_a_reason": ({"kind": "void", "reason": "", "voids_id": 1},),
    "void_names_what_it_voids": ({"kind": "void", "reason": "why"}, {"kind": "move", "voids_id": 1}),
    "act_stance_known": ({"stance": "guessed"},),
    "leg_delta_sane": ({"delta": 10**15 + 1}, {"delta": -(10**15) - 1}),
    "leg_count_not_negative": ({"counted": -1},),
    "leg_seq_from_one": ({"seq": 0},),
    "state_not_below_zero_unless_overdrawn": ({"qty": -1},),
    "edge_not_to_itself": ({"src_id": 5, "dst_id": 5},),
    "edge_not_negative": ({"qty": -1},),
    "block_closed_by_an_act": ({"to_us": 5}, {"closed_id": 5}),
    "extension_needs_a_second_person": ({"asked_by_id": 5, "approved_by_id": 5},),
    "extension_extends": ({"until_us": 1},),
    "use_as_is_needs_a_reference": ({"meaning": "use_as_is"}, {"meaning": "repair"}),
    "ply_angle_in_range": ({"angle": 91}, {"angle": -91}),
    "ply_names_a_material_or_a_recipe": ({"material_id": None},),
    "room_asks_something": ({"low_mc": None, "high_mc": None, "rh_low_ppm": None, "rh_high_ppm": None},),
    "room_temperatures_in_order": ({"low_mc": 25_001},),
    "room_humidities_in_order": ({"rh_low_ppm": 700_001},),
    "room_humidity_is_a_share": ({"rh_high_ppm": 1_000_001}, {"rh_low_ppm": -1}),
    "tighter_limit_says_for_whom": ({"customer_id": None},),
    "tighter_limit_names_a_limit": ({"limit": ""},),
    "tighter_limit_states_one_figure": ({"limit_us": None}, {"months": 1}, {"limit_n": 1}),
    "tighter_limit_above_zero": ({"limit_us": 0}, {"limit_us": None, "months": 0}, {"limit_us": None, "limit_n": 0}),
    "cure_recipe_version_above_zero": ({"version": 0},),
    "cure_recipe_has_a_code_and_stages": ({"code": ""}, {"text": ""}),
    "cure_chart_verdict_known": ({"verdict": "perhaps"},),
    "window_has_a_name": ({"name": ""},),
    "window_begins_with_one_thing": ({"first_step": ""}, {"first_line_id": 1}),
    "window_is_closed_by_one_thing": ({"then_step": ""}, {"then_line_id": 1}),
    "window_states_a_time": ({"least_us": None, "most_us": None},),
    "window_least_above_zero": ({"least_us": 0},),
    "window_most_above_zero": ({"least_us": None, "most_us": 0},),
    "window_times_in_order": ({"least_us": 9}, {"least_us": 10}),
    "design_losses_are_shares": ({"loss_ppm": 1_000_000}, {"loss_ppm": -1}, {"resin_waste_ppm": 1_000_000}),
    "design_extra_resin_not_below_zero": ({"resin_extra_ug": -1},),
    "ply_area_and_loss": ({"net_cmm2": 0}, {"loss_ppm": -1}, {"loss_ppm": 1_000_000}),
    "ply_wets_with_a_recipe": ({"wets": True},),
    "consumable_above_zero": ({"qty": 0},),
    "cured_ply_has_a_source": ({"source": ""},),
    "cured_ply_above_zero": tuple({name: 0} for name in ("e1_pa", "e2_pa", "g12_pa", "cured_nm", "fibre_mg_cm3", "resin_mg_cm3")),
    "cured_ply_shares": ({"fibre_volume_ppm": 0}, {"fibre_volume_ppm": None, "resin_weight_ppm": 1_000_000}),
    "cured_ply_one_share": ({"resin_weight_ppm": 400_000},),
    "infusion_above_zero": tuple(
        {name: 0} for name in ("length_um", "width_um", "permeability_e18", "pressure_pa", "inlet_um", "doubles_us")
    ),
    "infusion_shares": ({"porosity_ppm": 0}, {"porosity_ppm": 1_000_000}, {"scatter_ppm": -1}, {"scatter_ppm": 1_000_000}),
    "infusion_stops_after_its_start": ({"stops_us": 0}, {"starts_us": 2, "stops_us": 2}),
    "infusion_runners_and_start": ({"runners": 1}, {"runners": 51}, {"starts_us": -1}),
    "window_says_what_to_do_when_over": ({"remedy": ""}, {"again": ""}),
}
KEYS: dict[str, Row] = {
    "item_mark_once_per_site": {"mark": "U-3"},
    "inventory.Person.badge_sha256": {"badge_sha256": "b" * 64},
    "inventory.User.person": {"person_id": 5},
    "room_once_per_line": {"line_id": 5},
    "label_once_per_print_and_place": {"location_id": 5, "item_id": None},
    "ply_wets_once": {"wets": True, "recipe_id": 5},
    "kinetics_version_once": {"recipe_id": 5, "material_id": None},
    "inventory.Act.voids": {"voids_id": 5, "kind": "void", "reason": "why"},
}
"""What a row needs for its key to count: most keys need nothing, so every unique constraint is tried without being listed."""


def rows() -> dict[str, models.Model]:
    """One row of every table that has a constraint, by label. The guards are down for the test, so that it is the
    constraint that speaks."""
    take_down(connection)
    shop = Shop()
    found = one_of_each(shop)
    fabric, resin, design = shop.material("um"), shop.material("ug"), Design.objects.get()
    recipe = Recipe.objects.create(
        code="LAM",
        name="Laminating epoxy",
        kind="amine",
        resin=resin,
        hardener=resin,
        low_ppm=240_000,
        target_ppm=250_000,
        high_ppm=260_000,
    )
    flag = Flag.objects.create(site=shop.site, subject="roll", code="life", role="quality", text="soon", at_us=1, raised_us=1)
    more: list[models.Model] = [
        shop.site, shop.ines, shop.device, shop.supplier, shop.customer, fabric, recipe, flag, design, Part.objects.get(),
        CertLimit.objects.create(material=fabric, name="areal mass"),
        Role.objects.create(person=shop.ines, role="storekeeper"),
        User.objects.create(username="ines"),
        Token.objects.create(name="tablet", person=shop.ines, device=shop.device, sha256="a" * 64, created_us=1),
        Delivery.objects.create(site=shop.site, number="D-118", supplier=shop.supplier, material=fabric),
        Notice.objects.create(flag=flag, person=shop.ines),
        Outbox.objects.create(topic="pot", ref=1, due_us=1),
        Ply.objects.create(design=design, seq=1, material=fabric),
        RoomLimit.objects.create(design=design, low_mc=15_000, high_mc=25_000, rh_low_ppm=1, rh_high_ppm=700_000),
        TighterLimit.objects.create(customer=shop.customer, material=fabric, limit="tack", limit_us=1),
        Window.objects.create(
            design=design, name="surface to bond", first_step="surface prepared", then_step="bonded", least_us=1, most_us=9,
            remedy="wipe", again="wiped",
        ),
        Probe.objects.get(),
        Job.objects.create(site=shop.site, key=uuid.uuid4(), kind="log", title="log.csv", person=shop.ines, device=shop.device, asked_us=1),
        CureRun.objects.create(site=shop.site, number="CR-311", location=shop.place),
        Consumable.objects.create(design=design, material=fabric, qty=1),
        CuredPly.objects.create(material=fabric, source="data sheet", e1_pa=1, fibre_volume_ppm=500_000),
        Infusion.objects.create(design=design, length_um=1),
    ]  # fmt: skip
    found |= {row._meta.label: row for row in more}
    assert {type(row) for row in found.values()} >= {Site, Supplier, Customer}
    return found


def fresh(field: models.Field[Any, Any], now: Any) -> Any:
    """Another value, which no row has where there is a choice; a reference leads nowhere, which the database asks about
    only at the end."""
    if field.choices:
        return next(value for value, _ in field.flatchoices if value != now)
    if isinstance(field, models.UUIDField):
        return uuid.uuid4()
    number = next(_fresh)
    if isinstance(field, models.CharField | models.TextField):
        return f"x{number}"[-(field.max_length or 99) :]
    if isinstance(field, models.IntegerField) and not isinstance(field, models.BigIntegerField | models.AutoField):
        return number - 4_999_000_000
    return number


def unique_sets(model: type[models.Model]) -> dict[str, list[str]]:
    """The unique keys of a table by name, each with its fields."""
    found = {
        f"{model._meta.label}.{f.name}": [f.name] for f in model._meta.local_concrete_fields if f.unique and not f.primary_key
    }  # a key of its own is the database's oldest promise
    rules = [rule for rule in model._meta.constraints if isinstance(rule, models.UniqueConstraint)]
    return found | {rule.name: list(rule.fields) for rule in rules}


def another(row: models.Model, but: tuple[str, ...] = (), **changes: Any) -> models.Model:
    """A further row like one that stands, with new keys, save for the fields named in `but`."""
    values = {f.attname: getattr(row, f.attname) for f in row._meta.local_concrete_fields} | changes
    keys = [[row._meta.pk.name], *unique_sets(type(row)).values()]
    for key in keys:
        fields: list[Any] = [row._meta.get_field(name) for name in key if name not in but]
        if fields and set(key) != set(but) and all(getattr(row, row._meta.get_field(name).attname) is not None for name in key):  # type: ignore[union-attr]
            field = min(fields, key=lambda f: not f.is_relation)  # a number or a word may have rules of its own
            if field.attname not in changes:
                values[field.attname] = fresh(field, values[field.attname])
    return type(row)(**values)


def put(row: models.Model) -> None:
    """Insert a row; then take it back."""
    with transaction.atomic():
        row.save(force_insert=True)
        transaction.set_rollback(True)


def all_models() -> Iterator[type[models.Model]]:
    for app in ("inventory", "layups"):
        yield from apps.get_app_config(app).get_models()


def named(kind: type[models.BaseConstraint]) -> list[tuple[str, str]]:
    return [(rule.name, model._meta.label) for model in all_models() for rule in model._meta.constraints if isinstance(rule, kind)]


ALL_KEYS = [(name, model._meta.label, fields) for model in all_models() for name, fields in unique_sets(model).items()]


def test_every_constraint_has_a_row_that_breaks_it() -> None:
    assert {name for name, _ in named(models.CheckConstraint)} == set(CHECKS)
    assert {name for name, _, _ in ALL_KEYS} >= {name for name, _ in named(models.UniqueConstraint)} | set(KEYS)


@pytest.mark.parametrize(("name", "label"), named(models.CheckConstraint), ids=lambda value: value)
def test_a_row_is_refused_by_the_check(name: str, label: str) -> None:
    row = rows()[label]
    put(another(row))
    for changes in CHECKS[name]:
        with pytest.raises(IntegrityError) as caught:
            put(another(row, **changes))
        assert name in str(caught.value), changes


@pytest.mark.parametrize(("name", "label", "fields"), ALL_KEYS, ids=lambda value: value if isinstance(value, str) else "-".join(value))
def test_a_second_row_is_refused_by_the_key(name: str, label: str, fields: list[str]) -> None:
    row = rows()[label]
    changes = KEYS.get(name, {})
    first = another(row, **changes)
    put(first)
    with transaction.atomic():
        first.save(force_insert=True)
        for field in fields:  # one that differs in any field of the key may stand beside it
            put(another(first, tuple(set(fields) - {field}), **{k: v for k, v in changes.items() if k not in (field, f"{field}_id")}))
        with pytest.raises(IntegrityError) as caught, transaction.atomic():
            another(first, tuple(fields), **changes).save(force_insert=True)
        transaction.set_rollback(True)
    columns = [type(row)._meta.get_field(field).column for field in fields]  # type: ignore[union-attr]
    if connection.vendor == "sqlite":
        assert all(f"{row._meta.db_table}.{column}" in str(caught.value) for column in columns), caught.value
    elif "." in name:
        assert f"({columns[0]})=" in str(caught.value)
    else:
        assert f'"{name}"' in str(caught.value)
