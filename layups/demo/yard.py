"""The yard: its people, places, suppliers and customers."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable
from typing import TypeVar

from django.contrib.auth.hashers import make_password
from django.db.models import Model

from inventory.core import codes
from inventory.models import Customer, Device, Location, Person, Role, Site, StorageClass, Supplier, User

from .anchor import ZONE

T = TypeVar("T", bound=Model)

PEOPLE = (
    ("Ines", ("storekeeper",)),
    ("Bram", ("builder",)),
    ("Tove", ("builder",)),
    ("Odile", ("quality",)),
    ("Marek", ("owner",)),
    ("Vera", ("auditor",)),
)
DEVICES = (
    ("demo", "command"),
    ("office", "browser"),
    ("store tablet", "tablet"),
    ("bay tablet", "tablet"),
    ("cold store tablet", "tablet"),
    ("quality desk", "browser"),
)
SUPPLIERS = (
    "Aldervane Weavers",
    "Tow & Thread Skarvik",
    "Kestrow Prepreg",
    "Orrisby Resin Works",
    "Tarnfold Peroxides",
    "Pellmoor Foam",
    "Hask Consumables",
)
CUSTOMERS = (
    "Lunn Island Canoe Hire",
    "Brae Loch Outfitters",
    "Skerrow Sailing School",
    "Hestholm Harbour Trust",
    "Ferrel Rowing Club",
    "P-03",
    "P-07",
    "P-11",
)
# name: (low, high) in milli-°C. No upper end: nobody logs it, so it counts as the hottest.
STORAGE: dict[str, tuple[int | None, int | None]] = {
    "frozen −25…−18 °C": (-25_000, -18_000),
    "fridge 2…8 °C": (2_000, 8_000),
    "room 15…25 °C": (15_000, 25_000),
    "peroxide cabinet 5…25 °C": (5_000, 25_000),
    "bunker 5…30 °C": (5_000, 30_000),
    "work room 15…30 °C, logged": (15_000, 30_000),
    "warm tent 35…45 °C": (35_000, 45_000),
    "not logged": (None, None),
}
FROZEN, FRIDGE, ROOM, CABINET, BUNKER, WORK, TENT, UNKNOWN = STORAGE
KG = 10**9
# code, name, kind, storage, accepts, refuses, limit in µg, lowest temperature for mixing
Row = tuple[str, str, str, str, str, str, int | None, int | None]
PLACES: tuple[Row, ...] = (
    ("F1", "Chest freezer", "freezer", FROZEN, "frozen", "", None, None),
    ("F2", "Upright freezer", "freezer", FROZEN, "frozen", "", None, None),
    ("FR", "Fridge", "fridge", FRIDGE, "plain acid", "", None, None),
    ("RS", "Resin store", "store", ROOM, "plain amine acid isocyanate", "promoter", None, None),
    ("PX", "Peroxide cabinet", "store", CABINET, "peroxide", "", 25 * KG, None),
    ("BK", "Outdoor bunker", "store", BUNKER, "peroxide", "", 60 * KG, None),
    ("AC", "Accelerators and amines", "store", ROOM, "promoter amine", "peroxide acid", None, None),
    ("DRY", "Dry cabinet (≤ 20 % RH)", "store", ROOM, "plain", "", None, None),
    ("RACK", "Dry goods rack", "rack", ROOM, "plain", "", None, None),
    ("CLEAN", "Clean room", "bay", WORK, "", "promoter", None, None),
    ("BAY1", "Wet layup bay", "bay", WORK, "", "promoter", None, 18_000),
    ("BAY2", "Infusion bay", "bay", WORK, "", "promoter", None, 18_000),
    ("WIND", "Winding", "bay", WORK, "", "promoter", None, None),
    ("PULT", "Pultrusion", "bay", WORK, "", "promoter", None, 18_000),
    ("PRESS", "Press", "bay", WORK, "", "promoter", None, None),
    ("OV1", "Oven 1", "oven", UNKNOWN, "", "", None, None),
    ("OV2", "Oven 2", "oven", UNKNOWN, "", "", None, None),
    ("WARM1", "Warm tent, rack 1", "oven", TENT, "", "", None, None),
    ("WARM2", "Warm tent, rack 2", "oven", TENT, "", "", None, None),
    ("FIN", "Finishing", "bay", WORK, "", "promoter", None, None),
    ("STOCK", "Finished parts rack", "rack", ROOM, "plain", "", None, None),
    ("QUAR", "Quarantine cage", "quarantine", ROOM, "", "", None, None),
    ("QUARF", "Quarantine freezer bin", "quarantine", FROZEN, "frozen", "", None, None),
)


def badge_code(name: str) -> str:
    """The code on somebody's badge: always the same, so that a printed badge outlives a new demo."""
    return codes.make(hashlib.sha256(f"quillstrand badge {name}".encode()).digest(), on="person")


def build_site() -> Site:
    return Site.objects.create(code="QUILL", name="Quillstrand Boatyard", zone=ZONE)


def build_people(site: Site, password: str | None) -> tuple[dict[str, Person], dict[str, User]]:
    """People with their roles, badges and sign-ins. No password: nobody can sign in."""
    people = Person.objects.bulk_create(
        Person(site=site, name=name, badge_sha256=hashlib.sha256(badge_code(name).encode()).hexdigest()) for name, _ in PEOPLE
    )
    Role.objects.bulk_create(Role(person=person, role=role) for person, (_, roles) in zip(people, PEOPLE, strict=True) for role in roles)
    users = User.objects.bulk_create(
        User(
            username=person.name.lower(),
            first_name=person.name,
            person=person,
            password=make_password(password),
            is_staff="owner" in roles,
            is_superuser="owner" in roles,
        )
        for person, (_, roles) in zip(people, PEOPLE, strict=True)
    )
    return {p.name: p for p in people}, {u.username: u for u in users}


def build_places(site: Site) -> dict[str, Location]:
    classes = StorageClass.objects.bulk_create(
        StorageClass(site=site, name=name, low_mc=low, high_mc=high) for name, (low, high) in STORAGE.items()
    )
    by_name = {c.name: c for c in classes}
    rows = Location.objects.bulk_create(
        Location(
            site=site,
            code=code,
            name=name,
            kind=kind,
            storage=by_name[storage],
            accepts=accepts,
            refuses=refuses,
            max_ug=most,
            min_mix_mc=least,
        )
        for code, name, kind, storage, accepts, refuses, most, least in PLACES
    )
    return {row.code: row for row in rows}


def build_devices(site: Site) -> dict[str, Device]:
    rows = Device.objects.bulk_create(Device(site=site, name=name, kind=kind) for name, kind in DEVICES)
    return {row.name: row for row in rows}


def build_suppliers() -> dict[str, Supplier]:
    return _by_name(Supplier.objects.bulk_create(Supplier(name=name) for name in SUPPLIERS), lambda s: s.name)


def build_customers() -> dict[str, Customer]:
    return _by_name(Customer.objects.bulk_create(Customer(name=name) for name in CUSTOMERS), lambda c: c.name)


def _by_name(rows: Iterable[T], name: Callable[[T], str]) -> dict[str, T]:
    """By the whole name and by its first word ("Ferrel")."""
    out: dict[str, T] = {}
    for row in rows:
        out[name(row)] = out[name(row).split()[0]] = row
    return out
