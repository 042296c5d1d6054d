"""A layup that is only tried: a notation, materials of the stock, an area and a number of parts; nothing is kept."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

from inventory.core.numerals import shown
from inventory.core.quantities import read as read_quantity
from inventory.core.reasons import BadInput, told_at
from inventory.core.said import say
from inventory.core.units import parse
from inventory.models import Material, Recipe
from inventory.worksheets.registry import Sheet, Worksheet, figure
from layups.core.demand import MAX_PARTS
from layups.core.laminate import Numbers, misread, numbers_of
from layups.core.notation import CORE, MAT, Layer, read
from layups.core.symmetry import Kind, kind_of
from layups.worksheets.drawn import answer

from .demand import Demand, Wanted, demand
from .plydata import SHEETS, form_of, stuffs
from .shopping import Shopping, shopping

MAX_PLIES = 200
NAMES = say('Only where the layup has names behind colons that are no codes: "A = GB-600, B = CT-204".')


@dataclass(frozen=True, slots=True)
class Trial:
    """What is typed. Materials are codes of the stock; without an area there is no list."""

    layup: str = figure(say("Layup"), words=say("From the tool side up: [0/±45/90]s, [(0/90)f/core/(0/90)f], [0:PP-U/(±45)f:PP-T]."))
    material: str = figure(say("Material of the plies"), words=say("Its code; for plies that name none."), default="")
    mat: str = figure(say("Material of “mat”"), default="")
    core: str = figure(say("Material of “core”"), default="")
    names: str = figure(say("Names in the layup"), words=NAMES, default="")
    area: str = figure(say("Area of the panel"), "", "m²", "", say("For the shopping list."))
    loss: str = figure(say("Lost in cutting"), "share", "%", "", say("Of what comes off the roll; 0 for nothing."))
    parts: str = figure(say("Parts"), default="1")
    recipe: str = figure(say("Resin, by its recipe"), default="", words=say("Its code, for dry plies."))
    waste: str = figure(say("Resin left in cups and lines"), "share", "%", "", say("Of what is mixed; 0 for nothing."))
    cure: str = figure(say("Planned cure"), default="", words=say("What is fetched lives until then."))


@dataclass(frozen=True, slots=True)
class Tried:
    """What is known of it. `shopping` is None without an area."""

    layers: tuple[Layer, ...]
    kind: Kind
    numbers: Numbers
    sheet: Sheet
    shopping: Shopping | None


def tried(trial: Trial, site: int, zone: str, now_us: int, cure_us: int | None) -> Tried:
    """A number of queries that does not grow with the plies. BadInput names the field."""
    layers = read(trial.layup)
    if len(layers) > MAX_PLIES:
        raise BadInput("try.plies", say("A layup that is tried has at most {max_plies} plies.", max_plies=MAX_PLIES), "layup")
    layers, materials = _materials(trial, layers)
    numbers = numbers_of(layers, stuffs(materials.values()))
    kind = kind_of(layers, numbers.thickness if {layer.material for layer in layers} <= numbers.thickness.keys() else None)
    found = None
    if trial.area.strip():
        found = shopping(site, zone, _demand(trial, layers, materials), now_us, cure_us)
    return Tried(tuple(layers), kind, numbers, answer(layers, kind, numbers), found)


# --- materials -----------------------------------------------------------------------------------------


def _materials(trial: Trial, layers: list[Layer]) -> tuple[list[Layer], dict[str, Material]]:
    """The plies with codes of the stock, and those materials."""
    names = _names(trial.names)
    asked = [(layer, *_asked(trial, layer, names)) for layer in layers]
    wanted = {code.upper() for _, code, _ in asked} | {code for _, code, _ in asked}
    rows = {row.code: row for row in Material.objects.filter(code__in=_possible(wanted)).select_related("cured")}
    out, used = [], {}
    for layer, code, where in asked:
        row = rows.get(code) or rows.get(code.upper())
        if row is None:
            text = say("“{code}” is no material of the stock: give its code, or say below the names what it stands for.", code=shown(code))
            raise BadInput("try.unknown", text, where)
        if row.kind not in (*SHEETS, "core"):
            raise BadInput(
                "try.no_ply",
                say("{code} is {get_kind_display}: no ply is made of it.", code=row.code, get_kind_display=row.get_kind_display().lower()),
                where,
            )
        wrong = misread(layer, form_of(row), row.code)
        if wrong:
            raise BadInput("try.form", wrong, "layup")
        used[row.code] = row
        out.append(replace(layer, material=row.code))
    return out, used


def _possible(codes: Collection[str]) -> list[str]:
    """Without what can be no code: PostgreSQL takes no text with a zero byte."""
    return [code for code in codes if "\x00" not in code]


def _asked(trial: Trial, layer: Layer, names: Mapping[str, str]) -> tuple[str, str]:
    """A ply's code, and the field that it comes from."""
    if layer.material:
        named = names.get(layer.material.casefold())
        return (named, "names") if named else (layer.material, "layup")
    field = layer.form if layer.form in (MAT, CORE) else "material"
    code = str(getattr(trial, field)).strip()
    if not code:
        what = {MAT: say("the mat"), CORE: say("the core")}.get(layer.form, say("the plies"))
        raise BadInput("try.needed", say("Say of which material {what} of the layup is.", what=what), field)
    return code, field


def _names(text: str) -> dict[str, str]:
    """ "A = GB-600, B = CT-204"."""
    found: dict[str, str] = {}
    for part in filter(None, (part.strip() for part in text.replace("\n", ",").replace(";", ",").split(","))):
        name, sign, code = (piece.strip() for piece in part.partition("="))
        if not (name and sign and code):
            raise BadInput(
                "try.names", say("“{part}” cannot be read: write each as A = GB-600, with commas between.", part=shown(part)), "names"
            )
        found[name.casefold()] = code
    return found


# --- demand ---------------------------------------------------------------------------------------------


def _demand(trial: Trial, layers: list[Layer], materials: Mapping[str, Material]) -> Demand:
    with told_at("area"):
        area = parse(trial.area, "m²", "cmm2")
    loss = _share(trial.loss, "loss", say("Say what is lost in cutting, 0 for nothing: without it nobody knows what comes off the roll."))
    lines = [
        Wanted(say("ply {count}", count=n), materials[p.material], None, area, loss, None, p.form != CORE) for n, p in enumerate(layers, 1)
    ]
    waste = None
    if trial.recipe.strip():
        waste = _share(trial.waste, "waste", say("Say how much resin is left in cups and lines, 0 for nothing."))
        lines.append(Wanted("resin", recipe=_recipe(trial.recipe.strip()), wets=True))
    return demand(lines, _parts(trial.parts), waste, None)


def _recipe(code: str) -> Recipe:
    rows = {row.code: row for row in Recipe.objects.filter(code__in=_possible({code, code.upper()})).select_related("resin", "hardener")}
    row = rows.get(code) or rows.get(code.upper())
    if row is None:
        raise BadInput("try.unknown", say("“{code}” is no recipe here: give its code.", code=shown(code)), "recipe")
    return row


def _share(text: str, where: str, needed: str) -> int:
    if not text.strip():
        raise BadInput("try.needed", needed, where)
    share = read_quantity(text, "share", "%", where)
    if not 0 <= share < 1:
        raise BadInput("try.share", say("A loss is a share from 0 to below 100 %."), where)
    return round(share * 1_000_000)


def _parts(text: str) -> int:
    clean = text.strip() or "1"
    if not (clean.isascii() and clean.isdecimal() and len(clean) < 7):
        raise BadInput("demand.parts", say("The number of parts is a whole number from 1 to {max_parts}.", max_parts=MAX_PARTS), "parts")
    return int(clean)


def _none(_: object) -> Sheet:
    raise TypeError("a trial needs the stock: call tried")


ABOUT = say("A layup of materials in stock: what kind it is, how stiff, and what so many parts take.")
TRIAL = Worksheet("layup", say("Try a layup"), ABOUT, Trial, _none)
"""Its form and its address are made like a worksheet's; it stands in no table of them, since it reads the stock."""
