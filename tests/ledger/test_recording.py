"""The write path: exactly once, in any order, refused whole or stored whole, and rebuildable to the same bytes."""

from __future__ import annotations

import itertools
import uuid

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.core.reasons import Refused
from inventory.models import Act, Block, Edge, Finding, Item, ItemState, Leg, Nonconformance, Refusal
from inventory.recording import Claim, Flow, Line, NewItem, record, rows
from inventory.recording.rebuild import rebuild
from inventory.verbs.births import new_code
from inventory.verbs.cutting import CutKit
from inventory.verbs.moving import Move
from inventory.verbs.receiving import Receive, ReceivedLot, ReceivedPiece
from tests.ledger.bench import HOUR, MINUTE, MONDAY, Bench, clock, doc, item, state

pytestmark = pytest.mark.django_db

KEYS = itertools.count()


def key(name: str = "") -> uuid.UUID:
    return uuid.uuid5(uuid.NAMESPACE_URL, name or f"recording {next(KEYS)}")


@pytest.fixture
def bench() -> Bench:
    return Bench()


def frozen_roll(bench: Bench, mark: str = "U-2", qty: str = "40.00 m", made: str = "2026-02-02", at: int = MONDAY - 10 * 24 * HOUR) -> Item:
    """A released roll of UD prepreg in the freezer F1."""
    lots = (ReceivedLot(f"L {mark}", (ReceivedPiece(qty, mark),), made),)
    bench.do("receive", Receive(f"D {mark}", lots, "Kestrow Prepreg", "PP-U", "F1"), at=at)
    Block.objects.all().update(to_us=at, closed=Act.objects.order_by("pk").last())
    return item(mark)


def everything() -> tuple[int, ...]:
    return tuple(m.objects.count() for m in (Act, Leg, Edge, Item, Finding, Block))


def same_after_rebuild(bench: Bench) -> None:
    report = rebuild(bench.yard.site, bench.now_us + 400 * 24 * HOUR)
    assert report.items > 0
    assert report.differences == []


def test_the_same_key_and_content_twice_is_one_record_and_one_receipt(bench: Bench) -> None:
    frozen_roll(bench)
    first = bench.do("move", Move("U-2", "CLEAN"), at=clock("08:00"), key="once")
    before = everything()
    again = bench.do("move", Move("U-2", "CLEAN"), at=clock("09:30"), key="once")
    assert again.replay and not first.replay
    assert [r.act for r in again.receipts] == [r.act for r in first.receipts]
    assert everything() == before


def test_the_same_key_with_other_content_is_an_error_and_changes_nothing(bench: Bench) -> None:
    frozen_roll(bench)
    bench.do("move", Move("U-2", "CLEAN"), key="once")
    before = everything()
    assert list(bench.refused("move", Move("U-2", "F2"), key="once")) == ["key.reused"]
    assert everything() == before


def test_a_refusal_changes_nothing_but_the_log_and_does_not_bind_its_key(bench: Bench) -> None:
    frozen_roll(bench)
    bench.do("move", Move("U-2", "CLEAN"), at=clock("06:00"))
    before = everything()
    reasons = bench.refused("cut_kit", CutKit("U-2", "6.00 m", mark="K-1"), who="Bram", at=clock("08:00"), key="cut")
    assert list(reasons) == ["thaw.short"]
    assert everything() == before
    assert Refusal.objects.get().verb == "cut_kit"
    done = bench.do("cut_kit", CutKit("U-2", "6.00 m", mark="K-1"), who="Bram", at=clock("14:00"), key="cut")
    assert not done.replay


def test_every_reason_is_told_in_one_answer(bench: Bench) -> None:
    roll = frozen_roll(bench)
    bench.do("move", Move("U-2", "CLEAN"), at=clock("06:00"))
    Block.objects.create(site=bench.yard.site, item=roll, why="quality", text="soft", opened=Act.objects.first(), from_us=1)
    reasons = bench.refused("cut_kit", CutKit("U-2", "41.00 m"), who="Bram", at=clock("08:00"))
    assert set(reasons) == {"stock.not_enough", "thaw.short", "block.quality"}


def test_what_already_happened_is_stored_and_its_item_is_held(bench: Bench) -> None:
    frozen_roll(bench)
    bench.do("move", Move("U-2", "CLEAN"), at=clock("06:00"))
    done = bench.do("cut_kit", CutKit("U-2", "6.00 m", mark="K-1"), at=clock("08:00"), stance="observed", happened_us=clock("07:00"))
    assert [r.code for r in done.reasons] == ["thaw.short"]
    assert state("U-2").qty == 34_000_000
    assert Block.objects.get(item__mark="K-1").to_us is None
    assert Nonconformance.objects.get().cause.mark == "U-2"
    same_after_rebuild(bench)


def test_a_book_below_zero_is_only_for_what_already_happened_and_a_count_settles_it(bench: Bench) -> None:
    from inventory.verbs.counting import Count, UseOtherwise

    bench.roll("G7-1")
    use = UseOtherwise("G7-1", "101.00 m", "sample")
    assert list(bench.refused("use", use)) == ["stock.not_enough"]
    bench.do("use", use, stance="observed", happened_us=clock("07:00"))
    assert (state("G7-1").qty, state("G7-1").overdrawn) == (-1_000_000, True)
    finding = Finding.objects.get(code__startswith="stock.below_zero")
    assert finding.closed_us is None
    bench.do("count", Count("G7-1", "2.00 m"), at=clock("09:00"))
    finding.refresh_from_db()
    assert (state("G7-1").qty, finding.closed_by) == (2_000_000, "a later record")
    same_after_rebuild(bench)


def shop_of_late_truth(bench: Bench) -> None:
    """A roll taken out a week ago (unknown as yet), a kit cut from it, the kit laid in a part that was cured."""
    roll = frozen_roll(bench, at=MONDAY - 30 * 24 * HOUR)
    who = bench.yard.who("Bram")
    new = {"kit": NewItem("K" + key("k").hex[:9].upper(), "kit", "cmm2", "K-22", roll.material_id, roll.lot_id)}
    place, ceiling = bench.yard.place["CLEAN"].pk, 25_000
    cut = Claim(key(), "move", (Line(roll.pk, location=place, ceiling=ceiling),))
    record([cut], who, MONDAY)
    at = MONDAY + 9 * HOUR
    lines = (Line(roll.pk, delta=-6_000_000), Line("kit", delta=10**8, location=place, ceiling=ceiling))
    record([Claim(key(), "cut", lines, (Flow(roll.pk, "kit", 6_000_000, 10**8),), new)], who, at)
    part = {"part": NewItem("R" + key("p").hex[:9].upper(), "part", "pc", "RUD-061")}
    record([Claim(key(), "start", (Line("part", delta=1, location=place, ceiling=ceiling),), new=part)], who, at + HOUR)
    kit, rud = item("K-22"), item("RUD-061")
    record([Claim(key(), "lay", (Line(kit.pk, delta=-(10**8)), Line(rud.pk)), (Flow(kit.pk, rud.pk, 10**8),))], who, at + HOUR)
    record([Claim(key(), "cure_on", (Line(rud.pk),))], who, at + 8 * HOUR)


def test_late_truth_travels_to_the_part_and_raises_one_nonconformance(bench: Bench) -> None:
    shop_of_late_truth(bench)
    assert not Finding.objects.exists()
    out = MONDAY - 6 * 24 * HOUR
    bench.do("move", Move("U-2", "CLEAN"), at=MONDAY + 30 * HOUR, stance="observed", happened_us=out)
    found = {(f.item.mark, f.code.split("/")[1]) for f in Finding.objects.filter(closed_us__isnull=True)}
    assert {mark for mark, _ in found} == {"K-22", "RUD-061"}
    assert Nonconformance.objects.get().cause.mark == "U-2"
    kit = Finding.objects.filter(item__mark="K-22", code__startswith="life.over/out").get()
    assert "153 h 00 of 120 h" in kit.text  # six days and nine hours at the cut
    same_after_rebuild(bench)


def test_a_voided_late_record_closes_its_findings_and_keeps_them(bench: Bench) -> None:
    shop_of_late_truth(bench)
    bench.do("move", Move("U-2", "CLEAN"), at=MONDAY + 30 * HOUR, stance="observed", happened_us=MONDAY - 6 * 24 * HOUR)
    act, count = Act.objects.order_by("pk").last(), Finding.objects.count()
    roll = item("U-2")
    record([Claim(key(), "void", (Line(roll.pk),), voids=act.pk, reason="wrong roll")], bench.yard.who("Odile"), MONDAY + 31 * HOUR)
    assert Finding.objects.count() == count
    assert {f.closed_by for f in Finding.objects.all()} <= {"a later record", "void"}
    same_after_rebuild(bench)


def test_removing_an_in_scan_never_makes_material_fresher(bench: Bench) -> None:
    frozen_roll(bench)
    bench.do("move", Move("U-2", "CLEAN"), at=clock("06:00"))
    back = bench.do("move", Move("U-2", "F1"), at=clock("08:00")).receipts[0].act
    bench.do("move", Move("U-2", "CLEAN"), at=clock("12:00"))
    before = warm("U-2")
    record([Claim(key(), "void", (Line(item("U-2").pk),), voids=back, reason="never went back")], bench.yard.who("Odile"), clock("13:00"))
    assert warm("U-2") - before == 4 * HOUR


def warm(mark: str) -> int:
    """Time above −12 °C so far."""
    return sum(us for ceiling, us in doc(mark)["spent"] if ceiling > -12_000)


def test_a_cycle_is_refused(bench: Bench) -> None:
    who = bench.yard.who("Bram")
    names = {}
    for mark in ("A", "B"):
        new = {mark: NewItem(f"Z{mark}{key(mark).hex[:8].upper()}", "assembly", "pc", f"BOAT-{mark}")}
        record([Claim(key(), "start", (Line(mark, delta=1),), new=new)], who, MONDAY)
        names[mark] = item(f"BOAT-{mark}").pk
    a, b = names["A"], names["B"]
    record([Claim(key(), "join", (Line(a, delta=-1), Line(b)), (Flow(a, b, 1),))], who, MONDAY + MINUTE)
    with pytest.raises(Refused) as refused:
        record([Claim(key(), "join", (Line(b, delta=-1), Line(a)), (Flow(b, a, 1),))], who, MONDAY + 2 * MINUTE)
    assert "graph.cycle" in {r.code for r in refused.value.reasons}


def test_any_order_of_arrival_folds_to_the_same_shop(bench: Bench) -> None:
    """Five scans of one roll, told late in every order: the same stored bytes, apart from what counts arrivals."""
    roll = frozen_roll(bench)
    places = [("CLEAN", 6), ("F1", 8), ("CLEAN", 9), ("BAY1", 11), ("F2", 13)]
    stored = set()
    for n, order in enumerate(itertools.permutations(range(len(places)))):
        if n % 5:
            continue  # every fifth of the 120 orders here; the pure fold's test takes them all
        marks = f"P-{n}"
        frozen_roll(bench, marks, at=MONDAY - 20 * 24 * HOUR)
        for i in order:
            place, hour = places[i]
            happened = MONDAY + hour * HOUR
            bench.do("move", Move(marks, place), at=clock("18:00"), key=f"{i} {n}", stance="observed", happened_us=happened)
        own = doc(marks)
        stored.add(str([own.get(k) for k in ("spent", "cycles", "ceiling", "since", "location", "qty", "frozen")]))
    assert len(stored) == 1
    assert ItemState.objects.get(item=roll).head == 1
    same_after_rebuild(bench)


def test_a_label_scanned_before_it_was_recorded_is_a_thing_that_is_not_fit_until_its_birth_arrives(bench: Bench) -> None:
    """A kit cut in the cold store, moved, and told in the wrong order: the same state as in the right one."""
    frozen_roll(bench)
    bench.do("move", Move("U-2", "CLEAN"), at=clock("00:30"))
    code = new_code(bench.call(key="label"), "kit")
    bench.do("move", Move(code, "CLEAN"), at=clock("12:00"), stance="observed", happened_us=clock("10:00"))
    stub = Item.objects.get(code=code)
    assert stub.stub
    with pytest.raises(Refused) as refused:
        record([Claim(key(), "lay", (Line(stub.pk, delta=-1),))], bench.yard.who("Bram"), clock("12:10"))
    assert "item.unrecorded" in {r.code for r in refused.value.reasons}
    cut = CutKit("U-2", "6.00 m", mark="K-9", code=code)
    bench.do("cut_kit", cut, who="Bram", at=clock("12:30"), stance="observed", happened_us=clock("09:30"))
    born = Item.objects.get(code=code)
    assert (born.pk, born.stub, born.mark, born.unit) == (stub.pk, False, "K-9", "cmm2")
    assert sum(us for c, us in doc("K-9")["spent"] if c > -12_000) == 30 * MINUTE  # 09:30 to the move at 10:00
    same_after_rebuild(bench)


def test_a_lot_that_does_not_last_and_has_no_limits_entered_is_not_fit(bench: Bench) -> None:
    lots = (ReceivedLot("N-1", (ReceivedPiece("5.00 kg", "N-1-1"),)),)
    material = bench.yard.material["LAM-A"]
    material.pk, material.code = None, "NEW-A"
    material.save()
    bench.do("receive", Receive("D N", lots, "Orrisby Resin Works", "NEW-A", "RS"))
    with pytest.raises(Refused) as refused:
        record([Claim(key(), "mix", (Line(item("N-1-1").pk, delta=-1),))], bench.yard.who("Bram"), clock("12:10"))
    assert "life.unknown" in {r.code for r in refused.value.reasons}


def test_states_given_as_one_list_are_those_that_are_named_one_by_one(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    for mark in ("U-2", "U-5", "U-6"):
        frozen_roll(bench, mark)
    ids = list(Item.objects.order_by("pk").values_list("pk", flat=True))
    named = rows.load(ids, lock=False)
    monkeypatch.setattr(rows, "TOGETHER", 1)
    with CaptureQueriesContext(connection) as asked:
        assert rows.load(ids, lock=False) == named
    assert len(named) == len(ids) > 2 and len(asked) == 1
