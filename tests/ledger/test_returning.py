"""What was left out comes back: counted by elapsed hours, set aside, quality told once; thermoplastics are dried and melted."""

from __future__ import annotations

import pytest

from inventory.models import Act, Block, Flag
from inventory.verbs.counting import UseOtherwise
from inventory.verbs.cutting import CutKit, CutOff
from inventory.verbs.heating import Dry, Heat
from inventory.verbs.moving import Move
from inventory.verbs.receiving import Receive, ReceivedLot, ReceivedPiece
from tests.ledger.bench import HOUR, MINUTE, MONDAY, Bench, clock, doc

pytestmark = pytest.mark.django_db
FRIDAY = MONDAY - 3 * 24 * HOUR + HOUR  # 00:00 local: the clocks went forward on the Sunday between


def test_a_roll_forgotten_over_the_clock_change_is_set_aside_and_quality_is_told_once() -> None:
    """Storekeeper's day, steps 2 and 3: taken out Friday 16:30 at 52 h 00, back Monday 07:40."""
    bench = Bench()
    piece = ReceivedPiece("41.50 m", "U-3", out_time="52 h 00")
    lots = (ReceivedLot("L3", (piece,), "2025-12-15"),)
    bench.do("receive", Receive("D-3", lots, "Kestrow Prepreg", "PP-U", "F1"), at=FRIDAY)
    bench.do("move", Move("U-3", "CLEAN"), at=FRIDAY + 16 * HOUR + 30 * MINUTE)
    bench.do("move", Move("U-3", "F1"), at=clock("07:40"))
    out = sum(us for c, us in doc("U-3")["spent"] if c > -12_000)
    assert out == 114 * HOUR + 10 * MINUTE, "115 h 10 would be wall-clock arithmetic"
    block = Block.objects.get(item__mark="U-3", why="quality", to_us__isnull=True)
    assert "tack life" in block.text
    count = Act.objects.count()
    again = bench.do("move", Move("U-3", "F1"), at=clock("07:40") + 20_000_000)
    assert again.data["already"] and Act.objects.count() == count
    assert Flag.objects.filter(code="life.passed_out").count() == 1
    reasons = bench.refused("cut_kit", CutKit("U-3", "1 m"), "Bram", clock("08:10"))
    assert {"life.over", "block.quality", "thaw.frozen"} <= set(reasons)


def test_a_tape_is_used_within_its_hour_of_drying_and_melted_at_most_three_times() -> None:
    bench = Bench()
    lots = (ReceivedLot("T1", (ReceivedPiece("300 m", "TPT-1"),), "2026-01-10"),)
    bench.do("receive", Receive("D-T", lots, "Kestrow Prepreg", "TPT", "DRY"), at=clock("06:00"))
    Block.objects.update(to_us=clock("06:00"), closed=Act.objects.order_by("pk").last())
    cut = CutOff
    assert bench.refused("cut_off", cut("TPT-1", "1 m"), "Bram", clock("07:00"))["life.unknown"].numbers["limit"]
    bench.do("dry", Dry("TPT-1", "4 h at 80 °C"), "Bram", clock("08:00"))
    bench.do("cut_off", cut("TPT-1", "1 m", "TP-1"), "Bram", clock("08:59"))
    assert "life.over" in bench.refused("cut_off", cut("TPT-1", "1 m"), "Bram", clock("09:00"))
    bench.do("heat", Heat("TP-1", 4), "Bram", clock("09:10"))
    bench.do("dry", Dry("TP-1"), "Bram", clock("09:20"))
    over = bench.refused("cut_off", cut("TP-1", "0.5 m"), "Bram", clock("09:30"))["life.over"]
    assert (over.numbers["used"], over.numbers["allowed"]) == (4, 3)
    bench.do("use", UseOtherwise("TP-1", "0.5 m", "panel"), "Bram", clock("09:31"))
