"""What the yard sets up once: `build_master` makes it all, in an empty database, and gives it back by its codes."""

from __future__ import annotations

import uuid
from dataclasses import dataclass, field

from django.db import transaction

from inventory.models import Customer, Device, LifeSpec, Location, Material, Person, Recipe, Site, Supplier, User
from inventory.recording import Who
from layups.models import Design

from . import kinetics, limits, materials, products, recipes, yard
from .anchor import Anchor, this_week

NAMESPACE = uuid.UUID("5e1ed6e0-0d5a-5b0a-9d0c-0a11057a9d00")
"""Keys of the demo's records are made from names in this namespace: the same name is the same record."""


class NotEmpty(Exception):
    """There is a shop in the database already; the demo is only made in an empty one."""


@dataclass
class Yard:
    """Quillstrand by its codes: yard.place["F1"], yard.person["Ines"], yard.user["ines"], yard.material["PP-U"],
    yard.recipe["LAM"], yard.design["RUD"]; suppliers and customers by their whole name or its first word."""

    site: Site
    anchor: Anchor
    person: dict[str, Person]
    user: dict[str, User]
    device: dict[str, Device]
    place: dict[str, Location]
    supplier: dict[str, Supplier]
    customer: dict[str, Customer]
    material: dict[str, Material]
    spec: dict[str, LifeSpec]
    recipe: dict[str, Recipe]
    design: dict[str, Design]
    badge: dict[str, str] = field(default_factory=dict)

    def who(self, name: str, device: str = "demo", role: str = "") -> Who:
        """Somebody at a device, as the write path wants it."""
        person, user = self.person[name], self.user[name.lower()]
        role = role or dict(yard.PEOPLE)[name][0]
        return Who(self.site.pk, self.site.zone, person.pk, self.device[device].pk, role, user.pk)


@transaction.atomic
def build_master(now_us: int, password: str | None = None, tack_from_start: bool = True) -> Yard:
    """Make the yard's master data, anchored on the week of `now_us`; raises NotEmpty when any shop is there. Without a
    password nobody can sign in.

    `tack_from_start` False leaves PP-U at the first version of its specification, which has no tack life (see `limits`)."""
    if Site.objects.exists() or Material.objects.exists():
        raise NotEmpty("There is a shop in this database already. The demo shop is only made in an empty one.")
    site = yard.build_site()
    people, users = yard.build_people(site, password)
    suppliers = yard.build_suppliers()
    mats = materials.build_materials(suppliers)
    specs = limits.build_limits(mats)
    systems = recipes.build_recipes(mats)
    kinetics.build_kinetics(systems, mats)
    made = Yard(
        site=site,
        anchor=this_week(now_us),
        person=people,
        user=users,
        device=yard.build_devices(site),
        place=yard.build_places(site),
        supplier=suppliers,
        customer=yard.build_customers(),
        material=mats,
        spec=specs,
        recipe=systems,
        design=products.build_products(mats, systems),
        badge={name: yard.badge_code(name) for name, _ in yard.PEOPLE},
    )
    if tack_from_start:
        made.spec["PP-U"] = limits.tighten_pp_u(mats["PP-U"])
    return made
