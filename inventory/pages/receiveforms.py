"""Forms of receiving: what is the same for all pieces of a lot, and what each piece has of its own."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from django import forms

from inventory.core.said import say
from inventory.models import Delivery, LifeLimit, Material
from inventory.verbs.arriving_pieces import MOST_LABELS
from inventory.verbs.papers import OpenStock, Receive, ReceivedLot, ReceivedPiece, RollMark

from .measures import Measure, said_in

MARKS = 3
FROM = (("outer", say("the outer end")), ("inner", say("the core")))
HEAD = ("lot", "made", "printed", "place", "owner")
PIECE = ("mark", "quantity", "serial", "core", "out_time", "transport", "warmest", "coldest", "opened", "package")
ON_THE_WAY = ("transport", "warmest", "coldest")
"""What a logger's file says of a whole delivery: its page fills it in for each piece."""
KEPT = ("number", "material", "supplier", "order", *HEAD, "quantity", "core", "out_time", "at_once")
"""What stays in the form for the next piece. Its hours out of the cold too: forgotten, the next roll would seem younger than it is."""


def line(label: str, help_text: str = "", required: bool = False, most: int = 200, **attrs: Any) -> forms.CharField:
    return forms.CharField(required=required, label=label, help_text=help_text, max_length=most, widget=forms.TextInput(attrs))


def degrees(label: str, help_text: str) -> Measure:
    return Measure(unit="°C", required=False, label=label, help_text=help_text, max_length=200)


class HeadForm(forms.Form):
    """What the label says of the whole lot."""

    lot = line(say("Lot number"), say("As on the label."), autocomplete="off")
    made = line(
        say("Made"),
        say("As on the label: 2026-03-02, or 2026-03 without a day; “unknown” if it says nothing."),
        placeholder=say("2026-03-02"),
    )
    printed = line(say("Printed last day"), say("2026-03-31, or 2026-03 without a day."), placeholder=say("2026-03-31"))
    place = line(say("Put away in"), say("The place's code. Empty: nowhere yet, which counts as warm."), placeholder=say("F1"))
    owner = line(say("Property of"), say("A customer, if it is theirs."))

    def __init__(
        self, *args: Any, material: Material | None = None, delivery: Delivery | None = None, opening: bool = False, **more: Any
    ) -> None:
        super().__init__(*args, **more)
        clocks = clocks_of(material)
        self.fields["lot"].required = not opening and (material is None or material.grade != "box")
        self.fields["made"].required = "calendar" in clocks
        self.fields["printed"].required = "printed" in clocks
        if material is not None and "printed" not in clocks:
            del self.fields["printed"]
        if (material is not None and material.grade == "box") or opening:
            self.fields["lot"].help_text = say("As on the label; empty if there is none.")
        if delivery is not None and delivery.lot_number and not self.initial.get("lot"):
            self.initial["lot"] = delivery.lot_number


def clocks_of(material: Material | None) -> set[str]:
    """The clocks of a material's newest specification: which dates the label must give."""
    if material is None:
        return set()
    rows = LifeLimit.objects.filter(spec__material=material).order_by("-spec__version").values_list("spec__version", "clock")
    newest = max((version for version, _ in rows), default=0)
    return {clock for version, clock in rows if version == newest}


class PieceForm(HeadForm):
    """One piece, scanned one after the other: the lot's fields stay, the piece's are new each time."""

    mark = line(
        say("Name on it"), say("Scan or type the short name (G7-1). Empty: its label alone names it."), autofocus=True, autocomplete="off"
    )
    quantity = line(say("How much"), say("With its unit."), True, inputmode="decimal")
    serial = line(say("Supplier's own number"))
    core = line(
        say("Core or can, empty"), say("Its mass, for counting by weight later ({example} kg).", example="1.60"), inputmode="decimal"
    )
    out_time = line(say("Out time on the label"), say("Already used, as the label states it (6 h 00)."))
    transport = line(say("On the way above the line"), say("How long the logger read too warm (9 h 20)."))
    warmest = degrees(say("Warmest"), say("What the logger read at most."))
    coldest = degrees(say("Coldest"), say("What it read at least."))
    package = line(say("Package"), say("Which one of how many, as on the label (2 of 5)."))
    opened = line(say("Opened"), say("The day when it was opened, or “yes”; empty: closed."))
    at_once = forms.BooleanField(
        required=False,
        label=say("Take each piece in as soon as its label says everything"),
        help_text=say("For labels with the piece's own number. Where something has to be looked at, it waits for you."),
    )
    marks_from = forms.ChoiceField(required=False, label=say("Measured from"), choices=FROM)

    def __init__(self, *args: Any, material: Material | None = None, **more: Any) -> None:
        super().__init__(*args, material=material, **more)
        self.fields["mark"].widget.attrs["data-scan-whole"] = True  # a scan takes the place of what stands there
        if material is not None and material.unit != "um":
            del self.fields["marks_from"]
        if material is not None and material.thaw_roll_us == 0 and not clocks_of(material) & {"above", "fraction", "cycles"}:
            for name in ("out_time",):
                del self.fields[name]

    @property
    def labels(self) -> tuple[str, ...]:
        """The supplier's labels as they were scanned."""
        return labels_of(self.data)

    @property
    def usual(self) -> list[Any]:
        return [self[name] for name in ("mark", "quantity", "lot", "serial", "made", "printed", "place", "package") if name in self.fields]

    @property
    def rest(self) -> list[Any]:
        return [self[name] for name in ("core", "out_time", "transport", "warmest", "coldest", "opened", "owner") if name in self.fields]

    @property
    def rest_open(self) -> bool:
        """Whether one of the rarer fields holds something or is wrong."""
        return any(bound.value() or bound.errors for bound in self.rest)

    @property
    def ticket(self) -> list[dict[str, str]]:
        return [
            {"i": str(i)} | {name: self.data.get(f"flaw_{name}{i}", "").strip() for name in ("kind", "at", "end")} for i in range(MARKS)
        ]


def labels_of(data: Mapping[str, str]) -> tuple[str, ...]:
    """The labels that were read for this piece, from the hidden field."""
    try:
        found = json.loads(data.get("labels", "") or "[]")
    except (ValueError, RecursionError):
        return ()
    return tuple(text for text in found if isinstance(text, str))[:MOST_LABELS] if isinstance(found, list) else ()


def with_label(labels: tuple[str, ...], raw: str) -> str:
    kept = labels if raw in labels else (*labels, raw)[-MOST_LABELS:]
    return json.dumps(list(kept))


def with_labels(labels: tuple[str, ...]) -> str:
    return json.dumps(list(labels)) if labels else ""


def piece_of(
    said: Mapping[str, Any], marks: tuple[RollMark, ...] = (), marks_from: str = "outer", labels: tuple[str, ...] = ()
) -> ReceivedPiece:
    texts: dict[str, Any] = {name: said.get(name, "") or "" for name in PIECE}
    texts |= {name: said_in(texts[name], "°C") for name in ("warmest", "coldest")}  # from a table of pieces they come as typed
    return ReceivedPiece(**texts, marks=marks, marks_from=marks_from or "outer", labels=labels)


def marks_of(form: PieceForm) -> tuple[RollMark, ...]:
    return tuple(RollMark(row["kind"] or "bad", row["at"], row["end"]) for row in form.ticket if row["at"] or row["end"])


def receive_of(
    head: Mapping[str, Any], number: str, material: str, supplier: str, order: str, pieces: tuple[ReceivedPiece, ...]
) -> Receive:
    lot = ReceivedLot(head.get("lot", ""), pieces, head.get("made", ""), head.get("printed", ""))
    return Receive(number, (lot,), supplier, material, head.get("place", ""), head.get("owner", ""), order)


def opening_of(head: Mapping[str, Any], material: str, supplier: str, pieces: tuple[ReceivedPiece, ...]) -> OpenStock:
    lot = ReceivedLot(head.get("lot", ""), pieces, head.get("made", ""), head.get("printed", ""))
    return OpenStock(material, (lot,), supplier, head.get("place", ""), head.get("owner", ""))


class NewForm(forms.Form):
    """A delivery that nobody expected."""

    number = line(say("Delivery number"), say("As on the supplier's delivery note."), True, 40, autofocus=True)
    material = forms.ModelChoiceField(
        label=say("Material"), queryset=Material.objects.none(), to_field_name="code", empty_label=say("Choose a material")
    )
    supplier = line(say("Supplier"), say("Empty: the usual one."), list="suppliers")
    order = line(say("Our order number"), "", False, 40)

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["material"].queryset = Material.objects.order_by("code")  # type: ignore[attr-defined]


ROW_FIELDS = ("mark", "quantity", "serial", "core", "out_time", "transport", "warmest", "opened")
ROW_WORDS = {
    "mark": say("Name on it"),
    "quantity": say("How much"),
    "serial": say("Supplier's number"),
    "core": say("Core or can"),
    "out_time": say("Out time on the label"),
    "transport": say("Above the line on the way"),
    "warmest": say("Warmest"),
    "opened": say("Opened"),
}


def rows_of(data: Mapping[str, Any], n: int) -> list[dict[str, str]]:
    """The rows of a table of pieces as they were typed."""
    return [{name: data.get(f"{name}-{i}", "").strip()[:200] for name in ROW_FIELDS} for i in range(n)]


def filled(rows: list[dict[str, str]]) -> list[dict[str, str]]:
    return [row for row in rows if any(row.values())]
