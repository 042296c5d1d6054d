"""Designs as they are shown: what kind of laminate the demo's schedules make, and what is not known is said."""

from __future__ import annotations

import pytest

from inventory.models import Material
from layups.core.notation import FABRIC, MAT, UD, Layer
from layups.core.strips import strokes
from layups.models import CuredPly, Design, Ply
from layups.reads.designs import design_view, designs
from layups.reads.plydata import laminate_numbers
from layups.worksheets.drawn import answer
from tests.ledger.bench import Bench

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def bench() -> Bench:
    return Bench()


def test_a_rudder_is_balanced_and_not_symmetric_because_the_twill_lies_on_one_side() -> None:
    laminate = design_view("RUD").laminate
    assert laminate is not None and laminate.kind is not None
    assert laminate.notation == "[0:PP-U/45:PP-U/−45:PP-U_2/45:PP-U/0:PP-U/(±45)f_2:PP-T]".replace("45:PP-U/−45:PP-U_2/45", "±45:PP-U/∓45")
    assert (laminate.kind.in_plane, laminate.kind.symmetric, laminate.kind.balanced) == ("orthotropic", False, True)
    assert laminate.areal_mg_m2 == 6 * 234_400 + 2 * 351_700


def test_a_core_between_plies_belongs_to_the_laminate_and_one_beside_them_does_not() -> None:
    hull = design_view("CAN").laminate
    assert hull is not None and [layer.form for layer in hull.layers] == [FABRIC, FABRIC, "core", FABRIC]
    assert hull.kind is not None and not hull.kind.symmetric and hull.kind.in_plane == "orthotropic"
    rudder = design_view("RUD").laminate
    assert rudder is not None and "core" not in rudder.notation


def test_mat_alone_is_isotropic_and_a_winding_has_no_plies() -> None:
    hull = design_view("DIN").laminate
    assert hull is not None and hull.kind is not None
    assert (hull.notation, hull.kind.in_plane) == ("[mat_2:CSM-300]", "isotropic")
    assert design_view("MAST").laminate is None


def test_what_is_not_stated_is_named_and_nothing_is_guessed() -> None:
    Material.objects.filter(code="PP-T").update(weave="")
    Ply.objects.filter(design__code="RUD", seq=1).update(angle=None)
    laminate = design_view("RUD").laminate
    assert laminate is not None and laminate.kind is None
    assert laminate.unknown == (
        "The angle of ply 1 is not stated.",
        "How the fibres of PP-T run is not stated: enter its weave.",
    )


def test_one_direction_is_one_whichever_way_it_is_written() -> None:
    Ply.objects.filter(design__code="REP", step="ply").update(angle=-90)
    laminate = design_view("REP").laminate
    assert laminate is not None and laminate.layers[0].angle_md == 90_000


def test_all_designs_take_five_queries(django_assert_num_queries) -> None:
    with django_assert_num_queries(5):
        found = designs()
    assert len(found) == Design.objects.filter(active=True).count() > 10


def test_the_numbers_of_a_rudder_follow_from_its_data_sheets_and_take_one_query(django_assert_num_queries) -> None:
    laminate = design_view("RUD").laminate
    assert laminate is not None
    with django_assert_num_queries(1):
        numbers = laminate_numbers(laminate)
    assert numbers.missing == () and numbers.stiffness is not None
    assert numbers.thickness_m == pytest.approx(6 * 153e-6 + 2 * 235e-6)
    sheet = answer(laminate.layers, laminate.kind, numbers)
    assert {f.name for f in sheet.figures} >= {"Ex", "Gxy", "Ex bending", "weight, fibre", "weight, resin"}
    assert any("warps as it cools: by 100 K, free, along x to a radius of" in text for text in sheet.cautions)


def test_without_data_a_design_keeps_its_kind_and_says_what_is_missing() -> None:
    CuredPly.objects.filter(material__code="PP-T").update(e1_pa=None, resin_weight_ppm=None, alpha1_e12=None)
    laminate = design_view("RUD").laminate
    assert laminate is not None
    numbers = laminate_numbers(laminate)
    assert numbers.stiffness is None and numbers.missing == (
        "Not known of PP-T: E1, resin by weight (or fibre by volume with both densities).",
    )
    sheet = answer(laminate.layers, laminate.kind, numbers)
    assert "orthotropic" in sheet.headline and not sheet.charts and numbers.missing[0] in sheet.notes
    CuredPly.objects.filter(material__code="PP-T").update(e1_pa=61 * 10**9)
    sheet = answer(laminate.layers, laminate.kind, laminate_numbers(laminate))
    assert sheet.charts and any("how far is not known" in text for text in sheet.cautions)


def test_a_strip_has_its_strokes_inside_and_in_their_direction() -> None:
    for layer in (Layer(0), Layer(90_000), Layer(30_000), Layer(-45_000, FABRIC)):
        found = strokes(layer, 300, 24)
        assert found
        for x1, y1, x2, y2 in found:
            assert min(x1, x2) >= -0.1 and max(x1, x2) <= 300.1 and min(y1, y2) >= -0.1 and max(y1, y2) <= 24.1
    (x1, y1, x2, y2), *_ = strokes(Layer(45_000, UD), 300, 24)
    assert (y2 - y1) * (x2 - x1) < 0, "45° runs up to the right"
    assert strokes(Layer(0, MAT), 300, 24) == []
