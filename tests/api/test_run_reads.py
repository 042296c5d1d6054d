"""A chart through the interface: the file is handed in, the verb names it, and the run says what came of it."""

from __future__ import annotations

import hashlib
from collections.abc import Callable

import pytest

from inventory.models import Attachment
from layups.demo.curves import chart_csv, cycle
from layups.models import CureRecipe, Design
from tests.layups.day import Day, new_day
from tests.layups.jobs import cured

from .client import Machine, body, problem, token_for

pytestmark = pytest.mark.django_db
TEXT = "dwell 118 −0/+6 °C for 60 −0/+20 min"


@pytest.fixture
def day(set_clock: Callable[[int], None]) -> Day:
    day = new_day()
    recipe = CureRecipe.objects.create(code="OVEN-120", version=1, name="oven, 120 °C", text=TEXT)
    Design.objects.filter(code="TIL").update(cure_recipe=recipe)
    cured(day)
    set_clock(day.at("12:00"))
    return day


def send(machine: Machine, data: bytes, name: str = "run.csv", kind: str = "application/octet-stream") -> object:
    return machine.post(f"files/?name={name}", data, content_type=kind)


def test_a_chart_is_handed_in_and_judged_and_the_run_says_so(day: Day) -> None:
    odile, vera = Machine(token_for(day, "Odile")), Machine(token_for(day, "Vera", "read"))  # type: ignore[arg-type]
    text = chart_csv(day.at("06:55"), "Europe/Copenhagen", {"TC1": cycle(121, 65), "TC2": cycle(117, 65)}).encode()
    kept = send(odile, text, kind="text/csv")
    assert kept.status_code == 201  # type: ignore[attr-defined]
    sha = body(kept)["sha256"]  # type: ignore[arg-type]
    assert sha == hashlib.sha256(text).hexdigest() and Attachment.objects.get().media_type == "text/csv"
    answer = odile.do("cure_chart", {"run": "CR-TIL-020", "attachment": sha, "columns": [{"column": "TC1 °C"}, {"column": "TC2 °C"}]})
    assert answer.status_code == 201, answer.content
    assert body(answer)["data"]["parts"] == {"TIL-020": "fails"}
    found = body(vera.get("runs/CR-TIL-020/"))
    (part,) = found["parts"]
    assert (found["verdict"], part["verdict"], part["recipe"]["code"]) == ("fails", "fails", "OVEN-120")
    (stage,) = part["stages"]
    assert stage["each"] == {"TC1 °C": "passes", "TC2 °C": "fails"}
    assert stage["offences"][0]["code"] == "cure.not_reached" and stage["offences"][0]["spans"]
    assert part["heating_began_by_chart"] is None and part["heating_began_on_record"].endswith("Z")
    assert found["charts"][0]["counts_for"] == ["TIL-020"]
    (row,) = body(vera.get("runs/"))["results"]
    assert (row["number"], row["verdict"], row["charts"]) == ("CR-TIL-020", "fails", 1)
    problem(vera.get("runs/CR-404/"), 404, "code.unknown")
    (file,) = body(vera.get("files/"))["results"]
    assert file["name"] == "run.csv"


def test_what_is_no_file_is_told_and_nothing_is_kept(day: Day) -> None:
    odile, vera = Machine(token_for(day, "Odile")), Machine(token_for(day, "Vera"))  # type: ignore[arg-type]
    problem(send(odile, b""), 400, "attachment.empty")  # type: ignore[arg-type]
    problem(odile.post("files/", b"a;b", content_type="text/csv"), 400, "attachment.name")
    problem(send(odile, b"MZ\x00\x01\x02\x03", "run.exe"), 400, "attachment.type")  # type: ignore[arg-type]
    problem(send(vera, b"a;b\n1;2\n"), 403, "role.not_allowed")  # type: ignore[arg-type]
    reader = Machine(token_for(day, "Odile", "read", name="reads only"))  # type: ignore[arg-type]
    problem(send(reader, b"a;b\n1;2\n"), 403, "scope.missing")  # type: ignore[arg-type]
    assert not Attachment.objects.exists()


def test_a_file_is_read_only_as_far_as_it_may_be_kept(day: Day, settings: object) -> None:
    settings.SELVEDGE_MAX_UPLOAD = 1_000  # type: ignore[attr-defined]
    odile = Machine(token_for(day, "Odile"))  # type: ignore[arg-type]
    problem(send(odile, b"a" * 1_001), 400, "attachment.too_big")  # type: ignore[arg-type]
