"""Scans made without a network: accepted, recognised or parked; none lost, none twice, none fresher than it was."""

from __future__ import annotations

import itertools
import uuid
from collections.abc import Callable
from typing import Any

import pytest

from inventory.models import Act, Device, Item, Refusal
from inventory.passes import give
from inventory.verbs.births import new_code
from tests.api.client import Machine, body, problem, token_for
from tests.ledger.bench import Bench, clock, doc, state

pytestmark = pytest.mark.django_db
KEYS = [str(uuid.uuid5(uuid.NAMESPACE_URL, f"scan {n}")) for n in range(20)]


@pytest.fixture
def bench(set_clock: Callable[[int], None]) -> Bench:
    set_clock(clock("08:00"))
    bench = Bench()
    bench.roll("G7-1", at=clock("06:00"))
    return bench


def scan(n: int, verb: str, at: str, **params: Any) -> dict[str, Any]:
    return {"key": KEYS[n], "verb": verb, "happened_at": f"2026-03-30T{at}+02:00", "seq": n, "params": params}


def send(bench: Bench, records: list[dict[str, Any]], sent: str = "08:00:00", **more: Any) -> Any:
    tablet = Machine(token_for(bench, "Bram", "replay"))
    response = tablet.post("replay/", {"device": "tablet 2", "sent_at": f"2026-03-30T{sent}+02:00", "records": records}, None, **more)
    assert response.status_code == 200, response.content
    return body(response)["results"]


def test_scans_are_stored_with_the_devices_time_and_a_second_sending_counts_once(bench: Bench) -> None:
    records = [scan(0, "move", "07:10:00", item="G7-1", place="BAY1"), scan(1, "move", "07:40:00", item="G7-1", place="DRY")]
    assert [r["result"] for r in send(bench, records)] == ["accepted", "accepted"]
    count = Act.objects.count()
    assert [r["result"] for r in send(bench, records)] == ["repeated", "repeated"]
    assert Act.objects.count() == count
    act = Act.objects.get(key=KEYS[0])
    assert (act.happened_us, act.recorded_us, act.stance, act.device.name) == (clock("07:10"), clock("08:00"), "observed", "tablet 2")


def test_a_bad_scan_is_parked_with_its_reasons_and_blocks_nothing_behind_it(bench: Bench) -> None:
    records = [
        scan(0, "move", "07:10:00", item="G7-1", place="NOWHERE"),
        scan(1, "fly", "07:11:00", item="G7-1"),
        scan(2, "move", "07:12:00", item="G7-1"),
        scan(3, "release", "07:13:00", items=["G7-1"]),
        scan(4, "move", "yesterday", item="G7-1", place="DRY"),
        scan(5, "move", "07:15:00", item="G7-1", place="DRY"),
    ]
    results = send(bench, records)
    assert [r["result"] for r in results] == ["parked"] * 5 + ["accepted"]
    assert [r["reasons"][0]["code"] for r in results[:5]] == [
        "place.unknown", "verb.unknown", "body.invalid", "role.not_allowed", "time.form",
    ]  # fmt: skip
    assert Refusal.objects.filter(body__contains=KEYS[0]).count() == 1, "a parked scan is kept whole"


def test_a_device_whose_clock_is_wrong_is_corrected_by_what_it_reads_at_sending(bench: Bench) -> None:
    """Its clock is ten minutes fast: 07:20 there was 07:10 here."""
    (result,) = send(bench, [scan(0, "move", "07:20:00", item="G7-1", place="DRY")], sent="08:10:00")
    assert Act.objects.get(key=KEYS[0]).happened_us == clock("07:10") and not result["moved"]


def test_a_time_before_the_last_contact_or_after_now_is_kept_within_what_is_possible(bench: Bench) -> None:
    send(bench, [scan(0, "move", "07:59:00", item="G7-1", place="BAY1")])
    assert Device.objects.get(name="tablet 2").seen_us == clock("08:00")
    early, late = send(
        bench, [scan(1, "move", "06:30:00", item="G7-1", place="DRY"), scan(2, "move", "09:30:00", item="G7-1", place="RACK")]
    )
    assert early["moved"] and late["moved"]
    assert {Act.objects.get(key=k).happened_us for k in KEYS[1:3]} == {clock("08:00")}
    assert Act.objects.get(key=KEYS[1]).claimed_us == clock("06:30"), "what the device said is kept"


def test_putting_back_into_the_cold_at_a_time_that_cannot_be_trusted_counts_as_now(bench: Bench, set_clock: Callable[[int], None]) -> None:
    from inventory.verbs.receiving import Receive, ReceivedLot, ReceivedPiece

    lots = (ReceivedLot("L9", (ReceivedPiece("40 m", "U-9"),), "2026-02-02"),)
    bench.do("receive", Receive("D-9", lots, "Kestrow Prepreg", "PP-U", "F1"), at=clock("06:00"))
    send(bench, [scan(0, "move", "07:00:00", item="U-9", place="CLEAN")])
    set_clock(clock("12:00"))
    back = {"device": "tablet 2", "sent_at": "2026-03-30T12:00:00+02:00", "records": [scan(1, "move", "07:05:00", item="U-9", place="F1")]}
    result = body(Machine(token_for(bench, "Bram", "replay")).post("replay/", back, None))["results"][0]
    assert result["moved"]
    assert sum(us for c, us in doc("U-9")["spent"] if c > -12_000) == clock("12:00") - clock("07:00")


def test_a_label_that_the_server_does_not_know_yet_becomes_a_thing(bench: Bench) -> None:
    code = new_code(bench.call(key="label"), "kit")
    (result,) = send(bench, [scan(0, "move", "07:10:00", item=code, place="CLEAN")])
    assert result["result"] == "accepted"
    assert Item.objects.get(code=code).stub


def test_any_order_of_a_batch_gives_the_same_roll(bench: Bench) -> None:
    records = [
        scan(0, "move", "07:10:00", item="{0}", place="BAY1"),
        scan(1, "use", "07:20:00", item="{0}", quantity="2 m", purpose="panel"),
        scan(2, "move", "07:30:00", item="{0}", place="DRY"),
        scan(3, "use", "07:40:00", item="{0}", quantity="3 m", purpose="sample"),
    ]
    seen = set()
    for n, order in enumerate(itertools.permutations(range(4))):
        mark = f"X-{n}"
        bench.roll(mark, at=clock("06:00") + n)
        batch = [records[i] | {"key": str(uuid.uuid4()), "params": records[i]["params"] | {"item": mark}} for i in order]
        assert {r["result"] for r in send(bench, batch)} == {"accepted"}
        seen.add((state(mark).qty, str(doc(mark).get("spent")), state(mark).location_id))
    assert len({(qty, place) for qty, _, place in seen}) == 1
    assert {qty for qty, _, _ in seen} == {95_000_000}


def test_a_long_queue_keeps_its_times_over_several_batches(bench: Bench) -> None:
    """The second batch was made before the first was sent: it is not dated after it."""
    first, second = scan(0, "move", "07:10:00", item="G7-1", place="BAY1"), scan(1, "move", "07:20:00", item="G7-1", place="DRY")
    tablet = Machine(token_for(bench, "Bram", "replay"))
    said = {"device": "tablet 2", "sent_at": "2026-03-30T08:00:00+02:00"}
    for records, more in (([first], True), ([second], False)):
        (result,) = body(tablet.post("replay/", said | {"records": records, "more": more}, None))["results"]
        assert (result["result"], result["moved"]) == ("accepted", False)
    assert [Act.objects.get(key=KEYS[n]).happened_us for n in (0, 1)] == [clock("07:10"), clock("07:20")]
    assert Device.objects.get(name="tablet 2").seen_us == clock("08:00")


def test_an_answer_says_when_it_happened_and_when_it_came_and_a_repeat_says_the_same(
    bench: Bench, set_clock: Callable[[int], None]
) -> None:
    (one,) = send(bench, [scan(0, "move", "07:10:00", item="G7-1", place="BAY1")])
    assert (one["happened_at"], one["recorded_at"]) == ("2026-03-30T05:10:00Z", "2026-03-30T06:00:00Z")
    set_clock(clock("08:30"))
    (two,) = send(bench, [scan(0, "move", "07:10:00", item="G7-1", place="BAY1")], sent="08:30:00")
    assert {k: v for k, v in two.items() if k != "result"} == {k: v for k, v in one.items() if k != "result"}
    assert Act.objects.get(pk=one["acts"][0]).recorded_us == clock("08:00")


def test_two_people_on_one_tablet_each_have_their_own_records(bench: Bench) -> None:
    word = give(bench.yard.person["Tove"].pk, bench.yard.site.pk, "tablet 2", clock("07:00"))
    records = [
        scan(0, "move", "07:10:00", item="G7-1", place="BAY1") | {"by": word},
        scan(1, "move", "07:12:00", item="G7-1", place="DRY"),
    ]
    assert [r["result"] for r in send(bench, records)] == ["accepted", "accepted"]
    assert [Act.objects.get(key=KEYS[n]).person.name for n in (0, 1)] == ["Tove", "Bram"]


def test_nobody_is_named_who_did_not_show_a_badge_at_this_tablet(bench: Bench) -> None:
    """Made up, of another tablet, too old, of somebody who left, or for what asks for a password."""
    site, tove, odile = bench.yard.site.pk, bench.yard.person["Tove"].pk, bench.yard.person["Odile"].pk
    words = {
        "pass.unknown": "[2,1]:made-up",
        "pass.device": give(tove, site, "tablet 3", clock("07:00")),
        "pass.old": give(tove, site, "tablet 2", clock("07:00") - 31 * 86_400_000_000),
    }
    for n, (code, word) in enumerate(words.items()):
        (result,) = send(bench, [scan(n, "move", "07:10:00", item="G7-1", place="BAY1") | {"by": word}])
        assert (result["result"], result["reasons"][0]["code"]) == ("parked", code)
    assert "made-up" not in Refusal.objects.get(body__contains=KEYS[0]).body, "the word itself is not kept"
    held = scan(5, "hold", "07:10:00", item="G7-1", reason="soft") | {"by": give(odile, site, "tablet 2", clock("07:00"))}
    assert send(bench, [held])[0]["reasons"][0]["code"] in ("pass.decision", "verb.not_observable")
    bench.yard.person["Tove"].__class__.objects.filter(pk=tove).update(ended_us=clock("07:30"))
    (gone,) = send(bench, [scan(6, "move", "07:10:00", item="G7-1", place="BAY1") | {"by": give(tove, site, "tablet 2", clock("07:00"))}])
    assert gone["reasons"][0]["code"] == "pass.ended"


def test_a_batch_is_at_most_five_hundred_and_needs_its_scope(bench: Bench) -> None:
    many = [scan(0, "move", "07:10:00", item="G7-1", place="BAY1") | {"key": str(uuid.uuid4())} for _ in range(501)]
    said = {"device": "tablet 2", "sent_at": "2026-03-30T08:00:00+02:00", "records": many}
    problem(Machine(token_for(bench, "Bram", "replay")).post("replay/", said, None), 400, "body.invalid")
    problem(Machine(token_for(bench, "Bram", "read write")).post("replay/", said | {"records": many[:1]}, None), 403, "scope.missing")
