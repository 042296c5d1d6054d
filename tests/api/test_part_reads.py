"""What was built, and traces, through the interface."""

from __future__ import annotations

import csv
import io

import pytest

from inventory.models import Item
from inventory.verbs.moving import Open
from layups.verbs.laying import Lay
from tests.pages.floor import Floor, floor, made_floor

from .client import Machine, body, problem, token_for

pytestmark = pytest.mark.django_db
__all__ = ["floor", "made_floor"]


@pytest.fixture
def machine(floor: Floor) -> Machine:
    floor.do(floor.at(0, "08:20"), "Ines", "open", Open("T-2", True))
    floor.do(floor.at(0, "08:32"), "Bram", "lay", Lay("T-2", "RUD-073"))
    return Machine(token_for(floor, "Vera", "read"))  # type: ignore[arg-type]


def test_a_trace_forward_and_back_name_each_other(floor: Floor, machine: Machine) -> None:
    lot = Item.objects.get(mark="T-2").lot
    assert lot is not None
    forward = body(machine.get(f"items/{lot.code}/trace/?direction=forward"))
    assert [f["name"] for f in forward["found"] if f["kind"] == "part"] == ["RUD-073"]
    (part,) = [f for f in forward["found"] if f["kind"] == "part"]
    assert (part["amount"], part["from_us"]) == (850_000, floor.at(0, "08:32"))
    back = body(machine.get("items/RUD-073/trace/"))
    assert [x["lot"] for x in back["lots"]] == [lot.batch.number]
    edge = back["edges"][-1]
    assert (edge["quantity"], edge["kind"]) == (850_000, "lay")


def test_a_trace_comes_as_rows_for_a_sheet_with_times_of_the_site(floor: Floor, machine: Machine) -> None:
    response = machine.get("items/T-2/trace/?direction=forward&format=csv")
    assert response.headers["Content-Type"].startswith("text/csv")
    (row,) = [r for r in csv.DictReader(io.StringIO(response.content.decode())) if r["kind"] == "part"]
    assert row["what"] == "RUD-073" and row["in it since"] == "2026-03-30T08:32+02:00"


def test_parts_are_paged_and_narrowed(floor: Floor, machine: Machine) -> None:
    first = body(machine.get("parts/?limit=2"))
    assert len(first["results"]) == 2 and first["next"]
    seen = {r["number"] for r in first["results"]}
    rest = body(machine.get(f"parts/?limit=500&cursor={first['next']}"))
    assert not seen & {r["number"] for r in rest["results"]}
    (one,) = body(machine.get("parts/?q=073"))["results"]
    assert (one["number"], one["state"], one["customer"]) == ("RUD-073", "building", "Skerrow Sailing School")
    assert "RUD-073" in machine.get("parts/?format=csv").content.decode()
    building = body(machine.get("parts/?state=building"))["results"]
    assert "RUD-073" in {r["number"] for r in building} and {r["state"] for r in building} == {"building"}
    problem(machine.get("parts/?state=lost"), 400, "parts.state")


def test_one_part_shows_its_schedule_and_what_speaks_against_it(floor: Floor, machine: Machine) -> None:
    found = body(machine.get("parts/RUD-073/"))
    filled = [line["line"] for line in found["schedule"] if line["filled"]]
    assert filled == [7]
    assert found["schedule"][6]["with"][0]["name"] == "T-2" and found["schedule"][6]["with"][0]["amount"] == "0.85 m"
    assert found["planned_cure_at"] == "2026-03-30T15:00:00Z"
    assert found["holds"] == [] and found["findings"] == []


@pytest.mark.parametrize(
    ("path", "status", "code"),
    [
        ("parts/T-2/", 404, "code.unknown"),
        ("parts/RUD-999/", 404, "code.unknown"),
        ("items/RUD-999/trace/", 404, "code.unknown"),
        ("items/T-2/trace/?direction=sideways", 400, "trace.direction"),
        ("items/T-2/trace/?format=xml", 400, "format.unknown"),
        ("parts/?limit=0", 400, "page.size"),
        ("parts/?cursor=zzz", 400, "page.cursor"),
    ],
)
def test_what_cannot_be_answered_is_a_problem_with_a_code(machine: Machine, path: str, status: int, code: str) -> None:
    problem(machine.get(path), status, code)


def test_without_a_token_nothing_is_shown(floor: Floor) -> None:
    for path in ("parts/", "parts/RUD-073/", "items/T-2/trace/"):
        assert Machine().get(path).status_code in (401, 403)
