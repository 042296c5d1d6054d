"""Tables of 10 000 rows, a page at a time and filtered, against the same pages over 1 000 rows. Limits: exactly as many queries, and
at most twice the time where the page is a page of the table (the stock is a sum over every piece, so only its queries are held to)."""

from __future__ import annotations

from django.core.management import call_command
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from inventory.models import Act, Device, Item, ItemState, Leg, Location, Material, Person, Role, Site, StorageClass, User
from layups.models import Design, Part
from tests.benchmarks.ground import empty, many, say, settle, timed

SMALL, LARGE, ROUNDS = 1_000, 10_000, 15
NOW = 1_774_850_400_000_000
PAGED = {
    "records": "/records/",
    "records of one kind": "/records/?kind=move",
    "records that broke a rule": "/records/?marked=broke",
    "records in the middle": "/records/?before={middle}",
    "parts": "/parts/?which=all",
    "cured parts": "/parts/?which=cured",
    "parts by number": "/parts/?q=77&which=all",
}
WHOLE = {"stock": "/stock/", "stock of one kind": "/stock/?kind=fabric", "one material": "/stock/M-1/", "one place": "/places/RACK/"}


def fill(rows: int) -> Client:
    """As many rolls of ten materials, records of them, and parts."""
    site = Site.objects.create(code="B", name="Bench", zone="Europe/Copenhagen")
    ines = Person.objects.create(site=site, name="Ines")
    Role.objects.create(person=ines, role="quality")
    device = Device.objects.create(site=site, name="bench")
    room = StorageClass.objects.create(site=site, name="room", low_mc=15_000, high_mc=25_000)
    place = Location.objects.create(site=site, code="RACK", name="Rack", kind="rack", storage=room)
    first = Material.objects.create(id=1, code="M-1", name="Glass 1", kind="fabric", unit="um", width_um=10**6, areal_mg_m2=10**5)
    for n in range(2, 11):
        Material.objects.create(id=n, code=f"M-{n}", name=f"Glass {n}", kind="fabric", unit="um", width_um=10**6, areal_mg_m2=10**5)
    design = Design.objects.create(code="HULL", name="Hull", process="infusion")
    assert first.pk == 1
    roll = {"id": "n", "site_id": f"{site.pk}", "code": "'S' || n", "mark": "'R-' || n", "kind": "'roll'", "unit": "'um'"}
    many(Item, rows, **roll, material_id="1 + n % 10")
    many(ItemState, rows, item_id="n", head="1", qty="10000000", location_id=f"{place.pk}", since_us=f"{NOW}")
    part = {"id": f"n + {rows}", "site_id": f"{site.pk}", "code": "'P' || n", "mark": "'HU-' || n", "kind": "'part'", "unit": "'pc'"}
    many(Item, rows, **part)
    doc = """CASE WHEN n % 3 = 0 THEN '{"cured": 5}' ELSE '{}' END"""
    many(ItemState, rows, item_id=f"n + {rows}", head="1", qty="1", location_id=f"{place.pk}", since_us=f"{NOW}", doc=doc)
    many(Part, rows, item_id=f"n + {rows}", design_id=f"{design.pk}", number="'HU-' || n")
    act = {
        "id": "n", "site_id": f"{site.pk}", "key": uuid_sql(), "fingerprint": "'0'",
        "kind": "CASE WHEN n % 2 = 0 THEN 'move' ELSE 'open' END",
        "stance": "'intent'", "happened_us": f"{NOW} + n", "rank": "50", "device_id": f"{device.pk}", "recorded_us": f"{NOW} + n",
        "person_id": f"{ines.pk}", "role": "'quality'", "body": """CASE WHEN n % 50 = 0 THEN '{"broke":[]}' ELSE '{}' END""",
    }  # fmt: skip
    many(Act, rows, **act)
    many(Leg, rows, id="n", act_id="n", item_id="n", seq="1", location_id=f"{place.pk}")
    settle()
    user = User.objects.create(username="ines", person=ines)
    client = Client(headers={"host": "localhost"})
    client.force_login(user)
    return client


def uuid_sql() -> str:
    if connection.vendor == "postgresql":
        return "gen_random_uuid()"
    return "lower(hex(randomblob(16)))"


def asked(client: Client, path: str) -> tuple[int, float]:
    """Queries of a page, and the least of its times."""
    client.get(path)
    with CaptureQueriesContext(connection) as found:
        response = client.get(path)
        assert response.status_code == 200, (path, response.status_code)
    return len(found), min(timed(lambda: client.get(path)) for _ in range(ROUNDS))


def main() -> None:
    call_command("collectstatic", interactive=False, verbosity=0)
    found: dict[str, list[tuple[int, float]]] = {}
    for rows in (SMALL, LARGE):
        empty()
        client = fill(rows)
        for name, path in {**PAGED, **WHOLE}.items():
            found.setdefault(name, []).append(asked(client, path.format(middle=rows // 2)))
    for name, ((few, short), (many_, long)) in found.items():
        said = f"{few} and {many_} queries, {short * 1000:.0f} and {long * 1000:.0f} ms"
        paged = name in PAGED
        limit = "same queries, ≤ 2× time" if paged else "same queries"
        say("tables", f"{name}: 1 000 and 10 000 rows", said, limit, few == many_ and (not paged or long <= 2 * short))
