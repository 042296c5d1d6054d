"""The yard's master data, as the demo shop is described. Figures: common practice or invented, no outside source."""

from __future__ import annotations

import hashlib
from datetime import date

import pytest
from django.contrib.auth import authenticate

from inventory.core import codes
from inventory.core.places import PlaceRule, Storage, put_away
from inventory.models import CertLimit, LifeLimit, Location, Material, Person
from inventory.recording.facts import limit_of
from layups.demo.anchor import DAY_US, HOUR_US, Anchor, this_week
from layups.demo.master import NotEmpty, Yard, build_master

pytestmark = pytest.mark.django_db

MONDAY = Anchor(date(2026, 3, 30))
NOW = MONDAY.at(0, "07:00")


@pytest.fixture
def yard() -> Yard:
    return build_master(NOW, password="correct horse")


def limits_of(yard: Yard, material: str, version: int) -> dict[str, LifeLimit]:
    return {row.name: row for row in LifeLimit.objects.filter(spec__material=yard.material[material], spec__version=version)}


def refusals(yard: Yard, material: str, place: str, adding_ug: int = 0, held_ug: int = 0) -> set[str]:
    m, p = yard.material[material], yard.place[place]
    rule = PlaceRule(
        p.name, p.storage.low_mc, p.storage.high_mc, frozenset(p.accepts.split()), frozenset(p.refuses.split()), p.max_ug, held_ug
    )
    return {r.code for r in put_away(rule, Storage(m.hazard, m.min_store_mc, m.max_store_mc, m.code, m.sds_url), adding_ug)}


def test_days_are_counted_on_the_wall_calendar_over_the_clock_change() -> None:
    friday, monday = MONDAY.at(-3, "16:30"), MONDAY.at(0, "07:40")
    assert monday - friday == (63 * 60 + 10 - 60) * 60_000_000  # an hour less than the clocks on the wall say


def test_the_anchor_is_the_monday_of_the_week_in_the_shops_zone() -> None:
    assert this_week(MONDAY.at(6, "23:59")).monday == date(2026, 3, 30)
    assert this_week(MONDAY.at(7)).monday == date(2026, 4, 6)
    assert this_week(MONDAY.at(0)).monday == date(2026, 3, 30)  # 22:00 UTC on the Sunday


def test_a_second_yard_is_refused(yard: Yard) -> None:
    with pytest.raises(NotEmpty, match="only made in an empty one"):
        build_master(NOW)
    assert Person.objects.count() == 6


def test_people_sign_in_with_the_password_that_was_given_and_badges_are_stored_hashed(yard: Yard) -> None:
    assert authenticate(username="ines", password="correct horse") == yard.user["ines"]
    assert authenticate(username="ines", password="") is None
    code = yard.badge["Bram"]
    assert codes.is_code(code) and code.startswith("B")
    assert Person.objects.get(badge_sha256=hashlib.sha256(code.encode()).hexdigest()) == yard.person["Bram"]
    assert [r.role for r in yard.person["Marek"].roles.all()] == ["owner"]
    assert yard.who("Odile").role == "quality"


def test_without_a_password_nobody_signs_in() -> None:
    build_master(NOW)
    assert authenticate(username="marek", password="") is None


def test_peroxide_goes_only_into_the_cabinet_and_the_bunker(yard: Yard) -> None:
    allowed = {code for code in yard.place if not refusals(yard, "MEKP", code)}
    assert allowed == {"PX", "BK"}
    assert refusals(yard, "MEKP", "AC") >= {"place.never_together"}
    assert refusals(yard, "MEKP", "F1") >= {"place.too_cold"}
    kg = 10**9
    assert refusals(yard, "MEKP", "PX", 5 * kg, 20 * kg) == set()
    assert refusals(yard, "MEKP", "PX", 5 * kg, 21_500_000_000) == {"place.full"}  # 26.5 of 25 kg


@pytest.mark.parametrize(
    ("material", "stores"),
    [
        ("PP-U", {"F1", "F2", "QUARF"}),
        ("PH-R", {"FR"}),
        ("LAM-A", {"RS", "QUAR"}),
        ("LAM-B", {"RS", "AC", "QUAR"}),
        ("CO-6", {"AC", "QUAR"}),
        ("PU-B", {"RS", "QUAR"}),
        ("GB-600", {"RACK", "DRY", "QUAR"}),
    ],
)
def test_things_have_a_store_that_takes_them(yard: Yard, material: str, stores: set[str]) -> None:
    allowed = {code for code in yard.place if not refusals(yard, material, code)}
    assert stores <= allowed
    frozen = {code for code, place in yard.place.items() if place.kind == "freezer"}
    if material != "PP-U":
        assert not frozen & allowed


def test_what_cold_ruins_is_kept_out_of_the_cold(yard: Yard) -> None:
    assert "place.too_cold" in refusals(yard, "PU-B", "FR")
    assert "place.too_cold" in refusals(yard, "REL", "F1")


def test_prepreg_life_is_as_the_supplier_states_it(yard: Yard) -> None:
    twill = limits_of(yard, "PP-T", 1)
    assert (twill["storage"].months, twill["storage"].checkpoint) == (12, "laid")
    assert (twill["tack"].limit_us, twill["tack"].threshold_mc, twill["tack"].checkpoint) == (240 * HOUR_US, -12_000, "laid")
    assert (twill["out"].limit_us, twill["out"].checkpoint) == (504 * HOUR_US, "cure")
    assert yard.material["PP-T"].thaw_roll_us == 12 * HOUR_US and yard.material["PP-T"].thaw_piece_us == HOUR_US
    unidirectional = limits_of(yard, "PP-U", 2)
    assert (unidirectional["tack"].limit_us, unidirectional["out"].limit_us) == (72 * HOUR_US, 120 * HOUR_US)
    assert set(limits_of(yard, "PP-U", 1)) == {"storage", "out"}
    assert yard.spec["PP-U"].version == 2


def test_film_may_be_extended_along_its_ladder_and_only_unopened(yard: Yard) -> None:
    storage = limits_of(yard, "FA-B", 1)["storage"]
    assert limit_of(storage).ladder == (3, 1)
    assert (storage.unopened_only, storage.evidence_min) == (True, "20")


def test_phenolic_life_adds_fractions_and_opened_clocks_run(yard: Yard) -> None:
    assert limit_of(limits_of(yard, "PH-R", 1)["storage"]).fractions == ((10_000, 90 * DAY_US), (25_000, 28 * DAY_US))
    assert limits_of(yard, "LAM-B", 1)["opened"].months == 3
    assert limits_of(yard, "PU-B", 1)["opened"].limit_us == 30 * DAY_US
    assert limits_of(yard, "TPT", 1)["heats"].limit_n == 3


def test_papers_are_asked_for_each_roll_of_prepreg_and_per_lot_elsewhere(yard: Yard) -> None:
    rows = {(c.material.code, c.name): c for c in CertLimit.objects.select_related("material")}
    assert (rows["PP-T", "resin"].low, rows["PP-T", "resin"].high, rows["PP-T", "resin"].per_item) == ("40.0", "44.0", True)
    assert (rows["VE-I", "gel"].low, rows["VE-I", "gel"].high, rows["VE-I", "gel"].per_item) == ("28", "42", False)
    asked = {code for code, _ in rows}
    assert {m.code for m in Material.objects.filter(needs_certificate=True)} == asked


def test_ratios_are_the_suppliers_and_peroxide_has_a_bound_that_nobody_overrides(yard: Yard) -> None:
    lam, ve = yard.recipe["LAM"], yard.recipe["VE"]
    assert (lam.low_ppm, lam.target_ppm, lam.high_ppm) == (240_000, 250_000, 260_000)
    assert (lam.pot_us, lam.pot_mass_ug, lam.pot_temp_mc) == (25 * 60_000_000, 500_000_000, 25_000)
    assert (ve.low_ppm, ve.target_ppm, ve.high_ppm, ve.never_ppm, ve.min_temp_mc) == (10_000, 15_000, 20_000, 60_000, 18_000)
    assert yard.recipe["GC"].target_ppm == 20_000 and yard.recipe["PH"].high_ppm == 70_000


def test_a_rudder_takes_six_plies_of_ud_two_of_twill_and_a_bond_line(yard: Yard) -> None:
    plies = list(yard.design["RUD"].plies.select_related("material"))
    wanted = [*((n, "PP-U") for n in range(1, 7)), (7, "PP-T"), (8, "PP-T"), (9, "FA-B")]
    assert [(p.seq, p.material.code if p.material else "") for p in plies[:9]] == wanted
    assert [p.angle for p in plies[:6]] == [0, 45, -45, -45, 45, 0]
    assert {p.qty for p in plies[6:8]} == {850_000}
    assert yard.design["CAN"].drop_limit_pa == 1000 and yard.design["CAN"].hardness_min == "35"


def test_every_place_of_the_yard_is_there(yard: Yard) -> None:
    stores = {"F1", "F2", "FR", "RS", "PX", "BK", "AC", "DRY", "RACK", "QUAR", "QUARF"}
    work = {"CLEAN", "BAY1", "BAY2", "WIND", "PULT", "PRESS", "OV1", "OV2", "WARM1", "WARM2"}
    assert set(yard.place) >= stores | work
    assert Location.objects.get(code="PX").max_ug == 25 * 10**9
    assert {p.code for p in Location.objects.filter(min_mix_mc=18_000)} == {"BAY1", "BAY2", "PULT"}


def test_there_are_enough_kinds_of_material_for_every_process(yard: Yard) -> None:
    kinds = {m.kind for m in yard.material.values()}
    assert kinds >= {"fabric", "ud", "mat", "tow", "prepreg", "resin", "hardener", "peroxide", "promoter", "gelcoat"}
    assert kinds >= {"additive", "thermoplastic", "film", "paste", "core", "consumable"}
    assert yard.material["PEEL-85"].reorder_at == 60_000_000 and yard.material["PEEL-85"].grade == "lot"
    assert yard.material["CSM-300"].suits == "polyester vinylester"
