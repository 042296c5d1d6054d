"""What a label fills into the fields of receiving, and what was typed by hand stays."""

from __future__ import annotations

from datetime import date

import pytest

from inventory.core.labelfacts import Amount, Facts
from inventory.core.labelfill import Filling, Wanted, filled, merged, package, packages_told
from inventory.core.reasons import BadInput
from inventory.core.spans import DateText

pytestmark = pytest.mark.core
TODAY = date(2026, 3, 30)


def codes(filling: Filling) -> list[str]:
    return [reason.code for reason in filling.told]


def test_a_label_fills_lot_serial_dates_quantity_and_package() -> None:
    facts = Facts(
        lot="27-031", serial="R7", made=DateText(2026, 3, 2), expires=DateText(2027, 3, None), package=(2, 5),
        amounts=(Amount("mass", "12.5 kg"), Amount("length", "50 m")),
    )  # fmt: skip
    filling = filled(facts, Wanted("um"), TODAY)
    assert filling.fields == {
        "lot": "27-031", "serial": "R7", "made": "2026-03-02", "printed": "2027-03", "quantity": "50 m", "package": "2 of 5",
    }  # fmt: skip
    assert codes(filling) == []
    assert filled(facts, Wanted("ug"), TODAY).fields["quantity"] == "12.5 kg"
    assert "quantity" not in filled(facts, Wanted("pc"), TODAY).fields


def test_a_date_that_can_hardly_be_meant_is_not_filled() -> None:
    assert "printed" not in filled(Facts(expires=DateText(1977, 3, 1)), Wanted("um"), TODAY).fields
    assert "made" not in filled(Facts(made=DateText(1977, 3, 1)), Wanted("um"), TODAY).fields


def test_what_a_person_must_look_at_is_told() -> None:
    assert codes(filled(Facts(expires=DateText(2026, 3, 29)), Wanted("um"), TODAY)) == ["label.over"]
    assert codes(filled(Facts(expires=DateText(2026, 3, 30)), Wanted("um"), TODAY)) == []
    assert codes(filled(Facts(best_before=DateText(2027, 1, 1)), Wanted("um"), TODAY)) == ["label.best_before"]
    assert codes(filled(Facts(expires=DateText(2027, 1, 1)), Wanted("um", printed=False), TODAY)) == ["label.not_counted"]
    assert codes(filled(Facts(amounts=(Amount("plain", "100"),)), Wanted("um"), TODAY)) == ["label.no_unit"]
    assert codes(filled(Facts(order="PO-7"), Wanted("um", orders=("PO 8",)), TODAY)) == ["label.order_differs"]
    assert codes(filled(Facts(order="po-7"), Wanted("um", orders=("PO-7",)), TODAY)) == []
    assert codes(filled(Facts(width_um=1_000_000), Wanted("um", width_um=1_270_000), TODAY)) == ["label.width_differs"]


def test_storage_limits_are_held_against_the_materials_own_and_the_difference_is_told() -> None:
    same = Wanted("um", warmest_mc=-18_000, coldest_mc=-40_000)
    assert codes(filled(Facts(warmest_mc=-18_000, coldest_mc=-40_000), same, TODAY)) == []
    told = filled(Facts(warmest_mc=-20_000), same, TODAY).told[0]
    assert told.code == "label.warmest_differs" and told.numbers == {"label_mc": -20_000, "ours_mc": -18_000}
    assert "no such limit is entered" in filled(Facts(coldest_mc=5_000), Wanted("um"), TODAY).told[0].text


def test_what_was_typed_stays_and_the_difference_is_told() -> None:
    filling = filled(Facts(lot="B", serial="R8"), Wanted("um"), TODAY)
    out = merged({"lot": "A", "serial": "", "printed": ""}, {}, filling)
    assert out == {"lot": "A", "serial": "R8", "printed": ""} and codes(filling) == ["label.typed_stays"]


def test_what_the_page_had_put_there_itself_gives_way_and_another_lot_takes_its_dates_along() -> None:
    put = {"lot": "A", "made": "2026-01-02", "printed": "2027-01-02"}
    filling = filled(Facts(lot="B", expires=DateText(2027, 3, 1)), Wanted("um"), TODAY)
    assert merged(dict(put), put, filling) == {"lot": "B", "made": "", "printed": "2027-03-01"} and codes(filling) == []
    same = filled(Facts(lot="a", serial="R8"), Wanted("um"), TODAY)
    assert merged({**put, "serial": ""}, put, same)["made"] == "2026-01-02"


def test_missing_packages_are_named() -> None:
    assert packages_told([(2, 5), (1, 5), (4, 5), (2, 5)]) == ["Packages 1, 2 and 4 of 5 are here; 3 and 5 are missing."]
    assert packages_told([(1, 2), (2, 2), (1, 1)]) == ["The one package is here.", "All 2 packages are here."]
    assert packages_told([(2, 3)]) == ["Package 2 of 3 is here; 1 and 3 are missing."] and packages_told([]) == []
    assert package("2 of 5") == package("2/5") == (2, 5)
    for wrong in ("6 of 5", "0/5", "two of five", "5", "", "1/99999"):
        with pytest.raises(BadInput):
            package(wrong)
