"""Does a design's panel fill: every way of feeding, from figures entered or from kinetics; what is missing is said."""

from __future__ import annotations

import pytest

from inventory.models import Kinetics, Recipe
from inventory.worksheets.registry import WORKSHEETS
from layups.core.infusion import Bed, Thickening, choices, compare
from layups.models import Design, Infusion, Ply
from layups.reads.infusing import Filling, filling_of
from tests.ledger.bench import Bench

pytestmark = pytest.mark.django_db
MINUTE = 60_000_000


@pytest.fixture(autouse=True)
def bench() -> Bench:
    return Bench()


def of(code: str) -> Filling:
    found = filling_of(Design.objects.get(code=code))
    assert found is not None
    return found


def test_a_hull_is_compared_by_each_way_at_its_temperature() -> None:
    found = of("CAN")
    assert found.at == "21 °C" and found.missing == () and found.scatter == 0.32
    curve = Thickening((0.0, 1320.0), (0.18, 0.18 * 2 ** (22 / 14)))
    assert list(found.fills) == compare(choices(5.0, 1.2, 0.01, 3), Bed(3e-10, 0.52, 9e4, 0.32), curve, 240.0, 1320.0)
    assert {fill.name for fill in found.fills} >= {"runner along the middle", "inlet at the middle point"}
    assert found.fills[0].fills and "of the 18 min you have" in found.fills[0].text


def test_what_is_known_goes_to_the_worksheet_and_gives_the_same_there() -> None:
    found = of("CAN")
    sheet = WORKSHEETS["infusion"]
    answer = sheet.run(sheet.params(**found.typed))
    by_way = {row[0]: row[1] for row in answer.tables[0].rows}
    for fill in found.fills:
        assert by_way[fill.name] == ("never" if fill.needs_us is None else pytest.approx(fill.needs_us / 60e6, abs=2e-3))
    assert found.fills[0].needs_us is not None


def _way(found: Filling, name: str):
    return next(fill for fill in found.fills if fill.name == name)


def test_a_constant_viscosity_fills_by_darcys_law() -> None:
    """t = φμL²/(2KΔP): 0.5, 0.1 Pa·s, 1 m, 1e-10 m², 1e5 Pa give 2 500 s (exact)."""
    Infusion.objects.update(
        length_um=10**6, width_um=500_000, permeability_e18=10**8, porosity_ppm=500_000, pressure_pa=100_000, starts_us=0,
        fresh_upa_s=100_000, doubles_us=10**9 * MINUTE, stops_us=60 * MINUTE,
    )  # fmt: skip
    assert (_way(of("CAN"), "runner along a short edge").needs_us or 0) / 1e6 == pytest.approx(2_500, abs=1e-3)


@pytest.mark.parametrize("name", ["length_um", "permeability_e18", "porosity_ppm", "pressure_pa", "room_mc", "starts_us", "fresh_upa_s"])
def test_what_is_missing_is_named_and_nothing_is_put_in_its_place(name: str) -> None:
    Infusion.objects.update(**{name: None})
    found = of("CAN")
    assert found.fills == () and len(found.missing) == 1 and found.wrong == ""


def test_figures_that_cannot_be_are_told_and_a_design_that_is_not_infused_has_none() -> None:
    Infusion.objects.update(permeability_e18=10**13)
    assert "is a pipe" in of("CAN").wrong
    Infusion.objects.update(permeability_e18=10**8, doubles_us=1)
    assert "more than sixty times" in of("CAN").wrong
    assert filling_of(Design.objects.get(code="RUD")) is None
    Infusion.objects.all().delete()
    assert of("CAN").missing == ("everything about its flow",)


def test_kinetics_with_a_viscosity_give_the_resins_time() -> None:
    """Held at 25 °C the resin thickens as Castro and Macosko say; at the stop it is as thick as its kinetics allow."""
    Ply.objects.filter(design__code="CAN", wets=True).update(recipe=Recipe.objects.get(code="INF"))
    Infusion.objects.update(fresh_upa_s=None, doubles_us=None, stops_us=None, room_mc=25_000)
    assert "kinetics with a viscosity" in of("CAN").missing[0], "the yard's are fitted to a pot life, without a viscosity"
    text = '{"factor": 1e-9, "energy": 48000, "gel": 0.6, "a": 1.5, "b": 1.0, "stop_pa_s": 1.0}'
    Kinetics.objects.create(
        recipe=Recipe.objects.get(code="INF"), version=2, name="own", source="test", form="published", constants='{"set": "room"}',
        gel_by="viscosity", gel_ppm=577_000, viscosity=text,
    )  # fmt: skip
    found = of("CAN")
    assert found.missing == () and found.wrong == "" and found.resin == "by own"
    warm = found.fills[0].have_us
    Infusion.objects.update(room_mc=40_000)
    assert of("CAN").fills[0].have_us < warm
    Infusion.objects.update(room_mc=25_000, stops_us=30 * MINUTE)
    assert of("CAN").fills[0].have_us == 26 * MINUTE
