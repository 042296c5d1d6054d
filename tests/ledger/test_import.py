"""Many rows by file: a dry run that tells of every row, then all of it or nothing, once."""

from __future__ import annotations

import time
from typing import Any

import pytest

from inventory.core.reasons import BadInput, Refused
from inventory.imports import MAX_BYTES, Mapping, Plan, plan_import, run_import
from inventory.models import Act, Block, Delivery, Item, Lot
from tests.ledger.bench import DAY, Bench, doc, item, state

pytestmark = pytest.mark.django_db
HEAD = "Delivery;Material;Lot No.;Roll no.;Length (m);Made on label;Place\n"
GOOD = (
    "Delivery;Material;Supplier;Lot No.;Roll no.;Length (m);Place;Remark\n"
    "D-118;GB-600;Aldervane Weavers;G7;G7-1;100.00;RACK;first\n"
    "D-118;GB-600;Aldervane Weavers;G7;G7-2;99,5;RACK;\n"
    "\n"
    "D-118;GB-600;Aldervane Weavers;G8;G8-1;100 yd;RACK;\n"
)


@pytest.fixture
def bench() -> Bench:
    return Bench()


def plan(bench: Bench, text: str | bytes, mapping: Mapping | None = None, into: str = "receive", **more: Any) -> Plan:
    data = text.encode() if isinstance(text, str) else text
    return plan_import(data, "list.csv", mapping, bench.call(), into, **more)


def run(bench: Bench, text: str | bytes, mapping: Mapping | None = None, into: str = "receive") -> Any:
    return run_import(plan(bench, text, mapping, into), bench.call())


def problems(made: Plan) -> list[tuple[int, str, str]]:
    return [(row.number, p.column, p.reason.code) for row in made.rows for p in row.problems]


def unread(bench: Bench, data: str | bytes, mapping: Mapping | None = None) -> str:
    with pytest.raises(BadInput) as wrong:
        plan(bench, data, mapping)
    assert wrong.value.reason.text
    return wrong.value.reason.code


# --- a good file -----------------------------------------------------------------------------------------------------


def test_a_dry_run_tells_of_every_row_and_records_nothing(bench: Bench) -> None:
    made = plan(bench, GOOD)
    assert made.ok and [row.number for row in made.rows] == [2, 3, 5]
    assert [c.field for c in made.columns] == ["delivery", "material", "supplier", "lot", "mark", "quantity", "place", ""]
    assert made.notes == ("Not used: Remark.",) and (made.encoding, made.delimiter) == ("UTF-8", ";")
    assert (Item.objects.count(), Act.objects.count(), Delivery.objects.count()) == (0, 0, 0)


def test_the_run_records_all_rows_in_their_units_waiting_for_release(bench: Bench) -> None:
    told = run(bench, GOOD)
    assert len(told.data["pieces"]) == 3
    assert {m: state(m).qty for m in ("G7-1", "G7-2", "G8-1")} == {"G7-1": 100_000_000, "G7-2": 99_500_000, "G8-1": 91_440_000}
    assert Lot.objects.count() == 2 and Delivery.objects.count() == 1
    assert Block.objects.filter(why="incoming", to_us=None).count() == 3


def test_the_same_file_twice_counts_once_whoever_hands_it_in_and_whatever_it_is_called(bench: Bench) -> None:
    run(bench, GOOD)
    again = plan_import(GOOD.encode(), "copy of list.csv", None, bench.call("Marek", at=bench.now_us + DAY))
    assert again.done and again.ok
    assert run_import(again, bench.call("Marek", at=bench.now_us + DAY)).replay
    assert Item.objects.filter(kind="roll").count() == 3


def test_a_file_and_a_form_go_through_the_same_rules(bench: Bench) -> None:
    bench.roll("G7-1")
    assert problems(plan(bench, GOOD)) == [(2, "Roll no.", "receive.already_here")]
    assert Item.objects.filter(kind="roll").count() == 1


def test_what_the_file_does_not_say_may_be_said_once_for_all_rows(bench: Bench) -> None:
    text = "Batch;Roll;Qty\nG7;G7-1;100 m\nG7;G7-2;100 m\n"
    assert [r.code for r in plan(bench, text).reasons] == ["import.columns_missing"]
    defaults = {"delivery": "D-118", "material": "gb-600", "place": "RACK"}
    run(bench, text, Mapping(defaults=defaults))
    place = state("G7-2").location
    assert place is not None and place.code == "RACK"


def test_the_user_says_which_column_is_what(bench: Bench) -> None:
    text = "A;B;C;D\nG7;G7-1;100 m;12\n"
    mapping = Mapping({"A": "lot", "2": "mark", "c": "quantity", "D": ""}, {"delivery": "D-118", "material": "GB-600"})
    made = plan(bench, text, mapping)
    assert made.ok and [c.field for c in made.columns] == ["lot", "mark", "quantity", ""]
    assert unread(bench, text, Mapping({"Z": "lot"})) == "import.unknown_column"
    assert unread(bench, text, Mapping({"A": "colour"})) == "import.unknown_field"
    assert unread(bench, text, Mapping(defaults={"colour": "x"})) == "import.unknown_field"
    assert unread(bench, text, Mapping({"A": "lot", "B": "lot"})) == "import.two_columns"


def test_two_columns_that_could_both_be_the_quantity_are_asked_about(bench: Bench) -> None:
    text = "Delivery;Material;Lot;Length;Net weight\nD-1;GB-600;G7;100 m;76.5 kg\n"
    assert unread(bench, text) == "import.two_columns"
    assert plan(bench, text, Mapping({"Length": "quantity"})).ok


def test_out_time_core_journey_and_dates_come_in_by_file_too(bench: Bench) -> None:
    text = (
        "Delivery,Material,Lot,Roll,Length,Unit,Made,Core (kg),Out time (h),Time above,Max temp (°C),Place\n"
        'D-119,PP-T,T26-031,T-7,50.00,m,2026-03-02,"1,6",6,9 h 20,-3.1,QUARF\n'
    )
    made = plan(bench, text, Mapping({"Time above": "transport"}))
    assert made.ok, problems(made)
    run_import(made, bench.call())
    assert doc("T-7")["spent"] == [[-3100, 33_600_000_000], [25_000, 21_600_000_000]]
    assert item("T-7").core_ug == 1_600_000_000


def test_opening_stock_comes_in_by_file_with_unknown_history(bench: Bench) -> None:
    text = "Material;Lot;Roll;Length;Made;Place\nPP-T;OLD-1;PT-1;17.5 m;2025-11-03;F1\nGB-600;;G-1;31 m;;RACK\n"
    made = plan(bench, text, into="open_stock")
    assert made.ok, problems(made)
    run_import(made, bench.call())
    assert doc("PT-1")["unknown"] is True
    assert Lot.objects.filter(number="unknown, G-1").exists()


def test_only_those_who_receive_may_import(bench: Bench) -> None:
    with pytest.raises(Refused) as refused:
        run_import(plan(bench, GOOD), bench.call("Bram"))
    assert refused.value.reasons[0].code == "role.not_allowed"


# --- rows that cannot be ---------------------------------------------------------------------------------------------


def test_every_bad_row_is_told_with_its_number_and_column_and_nothing_is_half_imported(bench: Bench) -> None:
    text = (
        "Delivery;Material;Lot;Roll;Length (m);Made;Place\n"
        "D-119;PP-T;T26;T-1;50;2026-03-02;QUARF\n"
        "D-119;PP-T;T26;T-2;-50;2026-03-02;QUARF\n"
        "D-119;PP-X;T26;T-3;50;2026-03-02;QUARF\n"
        "D-119;PP-T;T26;T-4;1,234;2026-03-02;QUARF\n"
        "D-119;PP-T;T26;T-5;50;2026-05-02;QUARF\n"
        "D-119;PP-T;;T-6;50;2026-03-02;QUARF\n"
        "D-119;PP-T;T26;T-1;50;2026-03-02;QUARF\n"
        "D-119;PP-T;T26;=HYPERLINK(1);50;2026-03-02;QUARF\n"
        "D-119;PP-T;T26;T-9;many;2026-03-02;QUARF\n"
        "D-119;PP-T;T26;T-10;50;02.03.2026;QUARF\n"
        "D-119;PP-T;T26;T-11;50;2026-03-02;NOWHERE\n"
        "D-119;PP-T;T26;T-12;50;2026-03-02;QUARF;extra\n"
    )
    made = plan(bench, text)
    assert problems(made) == [
        (3, "Length (m)", "quantity.negative"),
        (4, "Material", "material.unknown"),
        (5, "Length (m)", "quantity.ambiguous"),
        (6, "Made", "date.future"),
        (7, "Lot", "lot.number_needed"),
        (8, "Roll", "receive.mark_twice"),
        (9, "Roll", "import.formula"),
        (10, "Length (m)", "quantity.not_a_number"),
        (11, "Made", "date.form"),
        (12, "Place", "place.unknown"),
        (13, "", "import.too_many_cells"),
    ]
    with pytest.raises(BadInput) as wrong:
        run_import(made, bench.call())
    assert wrong.value.reason.numbers == {"rows": 12, "wrong": 11}
    assert Item.objects.count() == 0


def test_rules_of_place_lot_and_delivery_are_told_for_the_rows_that_they_concern(bench: Bench) -> None:
    head = "Delivery;Material;Lot;Can;Mass (kg);Last day;Place\n"
    cans = "".join(f"D-120;MEKP;X6;X6-{n};5;2026-12;PX\n" for n in range(1, 7))
    assert problems(plan(bench, head + cans)) == [(n, "Place", "place.full") for n in range(2, 8)]
    assert problems(plan(bench, head + "D-120;MEKP;X6;X6-1;5;2026-12;AC\n"))[0][1:] == ("Place", "place.never_together")


def test_two_days_of_manufacture_for_one_lot_in_one_file_are_told(bench: Bench) -> None:
    text = "Delivery;Material;Lot;Roll;Length;Made\nD-119;PP-T;T26;T-1;50 m;2026-03-02\nD-119;PP-T;T26;T-2;50 m;2026-03-03\n"
    made = plan(bench, text)
    assert [code for _, _, code in problems(made)] == ["lot.two_dates", "lot.two_dates"]


def test_what_changed_between_the_look_and_the_run_is_refused_whole(bench: Bench) -> None:
    made = plan(bench, GOOD)
    bench.roll("G8-1", delivery="D-200", lot="G8")
    with pytest.raises(Refused) as refused:
        run_import(made, bench.call())
    assert refused.value.reasons[0].code == "receive.mark_taken"
    assert Item.objects.filter(kind="roll").count() == 1 and Delivery.objects.filter(number="D-118").count() == 0


# --- text that cannot be ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_umlauts_arrive_in_every_encoding_and_a_guessed_one_is_told(bench: Bench, encoding: str) -> None:
    text = GOOD.replace("G7-1", "Größe-1").replace("G7-2", "Ærø-2")
    made = plan(bench, text.encode(encoding))
    assert [row.values["mark"] for row in made.rows[:2]] == ["Größe-1", "Ærø-2"]
    assert any("Windows-1252" in note for note in made.notes) == (encoding == "cp1252")


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"", "import.empty"),
        (b"\r\n \n", "import.empty"),
        ("a;b".encode("utf-16-le"), "import.encoding"),
        ("a;b".encode("utf-32"), "import.encoding"),
        (b"a;b\n\x81\x8d\xff;1", "import.encoding"),
        (b"%PDF-1.7 papers", "import.not_a_table"),
        (b"<html><table>", "import.not_a_table"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "import.old_workbook"),
        (b"PK\x03\x04 broken", "import.broken"),
        (b'Lot;Roll\n"G7;G7-1\nG7;G7-2\n', "import.broken"),
        (b";".join(b"c%d" % n for n in range(201)), "import.too_many_columns"),
    ],
)
def test_a_wrong_file_is_named_as_what_it_is(bench: Bench, data: bytes, code: str) -> None:
    assert unread(bench, data) == code


def test_a_heading_alone_has_no_rows(bench: Bench) -> None:
    made = plan(bench, GOOD.splitlines()[0])
    assert [r.code for r in made.reasons] == ["import.no_rows"] and not made.ok


def test_a_file_of_a_hundred_megabytes_is_refused_before_it_is_read(bench: Bench) -> None:
    started = time.process_time()
    assert unread(bench, b"x" * 100_000_000) == "import.too_big"
    assert unread(bench, b"x" * (MAX_BYTES + 1)) == "import.too_big"
    assert time.process_time() - started < 2


def test_more_than_two_thousand_rows_are_to_be_divided(bench: Bench) -> None:
    head = "Delivery;Material;Lot;Roll;Length\n"
    rows = "".join(f"D-1;GB-600;G7;R-{n};10 m\n" for n in range(2001))
    assert unread(bench, head + rows) == "import.too_many_rows"


def test_two_thousand_rows_are_looked_at_and_recorded_in_a_few_seconds(bench: Bench) -> None:
    head = "Delivery;Material;Supplier;Lot;Roll;Length;Place\n"
    rows = "".join(f"D-{n // 100};GB-600;Aldervane Weavers;L{n // 25};R-{n};10 m;RACK\n" for n in range(2000))
    started = time.process_time()
    made = plan(bench, head + rows)
    looked = time.process_time() - started
    assert made.ok
    run_import(made, bench.call())
    recorded = time.process_time() - started - looked
    assert Item.objects.filter(kind="roll").count() == 2000
    assert looked < 15 and recorded < 30, (looked, recorded)


def test_commas_tabs_and_bars_part_cells_too(bench: Bench) -> None:
    for sign in (",", "\t", "|"):
        text = GOOD.replace(";", sign).replace("99,5", "99.5")
        made = plan(bench, text)
        assert made.ok and made.delimiter == sign, problems(made)


def test_a_decimal_comma_in_a_comma_file_is_not_taken_for_two_cells(bench: Bench) -> None:
    text = "Delivery,Material,Lot,Roll,Length (m)\nD-118,GB-600,G7,G7-1,99,5\n"
    assert problems(plan(bench, text)) == [(2, "", "import.too_many_cells")]
    assert plan(bench, text.replace("99,5", '"99,5"')).rows[0].values["quantity"] == "99,5 m"
