"""From what a label says to the fields of receiving: each as it would be typed. What was typed by hand is never overwritten."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from inventory.core.labeldates import odd
from inventory.core.labelfacts import Amount, Facts, first
from inventory.core.lots import number_key
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say, say_n, strung
from inventory.core.spans import DateText
from inventory.core.temperature import display_celsius
from inventory.core.units import display

ORDER = {
    "um": ("length", "area", "mass"), "cmm2": ("area", "length", "mass"), "ug": ("mass", "volume"), "pc": ("count",),
}  # fmt: skip
"""Which of a label's quantities is taken for a material that is kept so; the first that the label has."""
WORDS = {
    "lot": say("lot"),
    "serial": say("supplier's own number"),
    "made": say("day of manufacture"),
    "printed": say("printed last day"),
    "quantity": say("quantity"),
    "package": say("package"),
}
OF_THE_LOT = ("made", "printed")


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is known of the goods: how the material is kept, whether a printed date counts, and what labels are held against."""

    unit: str
    printed: bool = True
    warmest_mc: int | None = None
    coldest_mc: int | None = None
    width_um: int | None = None
    orders: tuple[str, ...] = ()


@dataclass
class Filling:
    """Texts by field, and what a person must know about them."""

    fields: dict[str, str] = field(default_factory=dict)
    told: list[Reason] = field(default_factory=list)

    def tell(self, code: str, text: str, **numbers: int | str | None) -> None:
        self.told.append(Reason(code, text, numbers))


def filled(facts: Facts, wanted: Wanted, today: date) -> Filling:
    """The fields that a label fills. A date that can hardly be meant is told and not filled."""
    out = Filling()
    for name, text in (("lot", facts.lot), ("serial", facts.serial)):
        if text:
            out.fields[name] = text
    if facts.package:
        out.fields["package"] = say("{package} of {package_2}", package=facts.package[0], package_2=facts.package[1])
    if facts.made and not odd(facts.made, today.year):
        out.fields["made"] = str(facts.made)
    _last_day(facts, wanted, today, out)
    _quantity(facts.amounts, wanted.unit, out)
    _against(facts, wanted, out)
    return out


def _last_day(facts: Facts, wanted: Wanted, today: date, out: Filling) -> None:
    day: DateText | None = facts.expires or facts.best_before
    if day is None or odd(day, today.year):
        return
    if facts.expires is None:
        out.tell(
            "label.best_before", say("The label gives no expiry but “best before {day}”: that is taken for the printed last day.", day=day)
        )
    if day.last_day < today:
        out.tell("label.over", say("The label's last day, {day}, is over already.", day=day), date=str(day))
    if wanted.printed:
        out.fields["printed"] = str(day)
    else:
        out.tell(
            "label.not_counted",
            say("The label says {day}; this material's life is not counted from a printed date.", day=day),
            date=str(day),
        )


def _quantity(amounts: Sequence[Amount], unit: str, out: Filling) -> None:
    found = first(amounts, *ORDER.get(unit, ()))  # type: ignore[arg-type]  # these are measures
    plain = first(amounts, "plain")
    if found is not None:
        out.fields["quantity"] = found.text
    elif plain is not None and unit == "pc":
        out.fields["quantity"] = say("{plain} pc", plain=plain.text)
    elif plain is not None:
        out.tell("label.no_unit", say("The label says {plain} without a unit: type how much it is.", plain=plain.text), given=plain.text)


def _against(facts: Facts, wanted: Wanted, out: Filling) -> None:
    pairs = (
        ("warmest", facts.warmest_mc, wanted.warmest_mc, say("at most")),
        ("coldest", facts.coldest_mc, wanted.coldest_mc, say("at least")),
    )
    for name, label, ours, word in pairs:
        if label is not None and label != ours:
            here = (
                say("here it is {word} {ours}", word=word, ours=display_celsius(ours))
                if ours is not None
                else say("here no such limit is entered")
            )
            text = say(
                "Storage by the label: {word} {label}; {here}. Ask quality which one holds.",
                word=word,
                label=display_celsius(label),
                here=here,
            )
            out.tell(f"label.{name}_differs", text, label_mc=label, ours_mc=ours)
    if facts.width_um is not None and wanted.width_um is not None and facts.width_um != wanted.width_um:
        label_width, ours_width = display(facts.width_um, "um", exact=True), display(wanted.width_um, "um", exact=True)
        text = say(
            "The label says {label_width} wide; the material is {ours_width} wide. Is it the right one?",
            label_width=label_width,
            ours_width=ours_width,
        )
        out.tell("label.width_differs", text, label_um=facts.width_um, ours_um=wanted.width_um)
    if facts.order and wanted.orders and number_key(facts.order) not in {number_key(order) for order in wanted.orders}:
        text = say("The label is for order {order}; this delivery is for {orders}.", order=facts.order, orders=strung(", ", wanted.orders))
        out.tell("label.order_differs", text, given=facts.order)


def merged(typed: Mapping[str, str], put: Mapping[str, str], filling: Filling) -> dict[str, str]:
    """The form's values after a label was read. `put` is what the page had put into them itself: a field that still holds that
    gives way, one that holds anything else was typed and stays, and the difference is told. Another lot takes its dates along."""
    out = dict(typed)
    free = {name for name in out if not out[name].strip() or out[name] == put.get(name, "")}
    new_lot = filling.fields.get("lot", "")
    if new_lot and "lot" in free and number_key(new_lot) != number_key(out.get("lot", "")):
        for name in OF_THE_LOT:
            if name in free:
                out[name] = ""
    for name, text in filling.fields.items():
        if name not in out:
            continue
        if name in free:
            out[name] = text
        elif number_key(out[name]) != number_key(text):
            kept = say(
                "The label says {words} “{text}”; “{out}” was typed and stays. Check which one is right.",
                words=WORDS[name],
                text=text,
                out=out[name],
            )
            filling.tell("label.typed_stays", kept, field=name, label=text, typed=out[name])
    return out


# --- packages ----------------------------------------------------------------------------------------


def package(text: str) -> tuple[int, int]:
    """ "2 of 5" or "2/5". BadInput piece.package."""
    n, _, of = text.strip().replace(" of ", "/").partition("/")
    n, of = n.strip(), of.strip()
    if not (n.isascii() and of.isascii() and n.isdecimal() and of.isdecimal() and len(of) < 5 and 1 <= int(n) <= int(of)):
        raise BadInput("piece.package", say("Write which package it is of how many, as 2 of 5."), "package")
    return int(n), int(of)


def packages_told(seen: Iterable[tuple[int, int]]) -> list[str]:
    """ "Packages 1, 2 and 4 of 5 are here; 3 and 5 are missing.", for each number of packages that labels speak of."""
    here: dict[int, set[int]] = {}
    for n, of in seen:
        here.setdefault(of, set()).add(n)
    return [_told(of, there) for of, there in sorted(here.items())]


def _told(of: int, there: set[int]) -> str:
    missing = [n for n in range(1, of + 1) if n not in there]
    if not missing:
        return say("All {of} packages are here.", of=of) if of > 1 else say("The one package is here.")
    lack = (
        say_n("{listed} is missing", "{listed} are missing", len(missing), listed=_listed(missing))
        if len(missing) <= 12
        else say("{missing} are missing", missing=len(missing))
    )
    here = _listed(sorted(there))
    return say_n(
        "Package {here} of {of} is here; {lack}.", "Packages {here} of {of} are here; {lack}.", len(there), here=here, of=of, lack=lack
    )


def _listed(numbers: Sequence[int]) -> str:
    words = [str(n) for n in numbers]
    return words[0] if len(words) == 1 else say("{words} and {words_2}", words=strung(", ", words[:-1]), words_2=words[-1])
