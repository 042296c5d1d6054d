"""The doors of the shop: each says one step of the table in its own words, and gives the codes that came back.

`Machines` and `Pages` go through django's whole stack; `Domain` is what they all come to.
"""

from __future__ import annotations

import dataclasses
import json
import re
import uuid
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from itertools import groupby
from typing import Any

from django.test import Client

from inventory.core.exposure import Exposure
from inventory.core.reasons import Refused
from inventory.models import ItemState, Location
from inventory.verbs.papers import Receive
from inventory.verbs.registry import VERBS, perform
from layups.demo.master import build_master
from tests.api.client import Machine, body, token_for
from tests.ledger.bench import MONDAY, Bench, clock

from .scenario import Step

PASSWORD = "tar and linseed"
Codes = frozenset[str]


def bench() -> Bench:
    """The yard, in which people can sign in."""
    return Bench(build_master(MONDAY, PASSWORD))


@dataclass
class Door:
    """`at` stands the clock of the edges at an instant."""

    bench: Bench
    at: Callable[[int], None]

    def walk(self, steps: Iterable[Step]) -> list[Codes]:
        """Every step, with the codes that stood against it."""
        out = []
        for step in steps:
            self.at(clock(step.at))
            out.append(self.step(step))
        return out

    def step(self, step: Step) -> Codes:
        raise NotImplementedError


class Domain(Door):
    def step(self, step: Step) -> Codes:
        try:
            perform(step.verb, self.bench.call(step.who, clock(step.at)), step.params)
        except Refused as refused:
            return frozenset(reason.code for reason in refused.reasons)
        return frozenset()


@dataclass
class Machines(Door):
    """POST /api/verbs/<verb>/ with the person's token."""

    tokens: dict[str, str] = field(default_factory=dict)

    def step(self, step: Step) -> Codes:
        if step.who not in self.tokens:
            self.tokens[step.who] = token_for(self.bench, step.who)
        answer = Machine(self.tokens[step.who]).do(step.verb, spoken(step.params))
        said = body(answer)
        if answer.status_code in (200, 201):
            assert not said["replay"], said
            return frozenset()
        assert answer.status_code in (403, 409), (step, answer.content)
        return frozenset(reason["code"] for reason in said["reasons"])


@dataclass
class Pages(Door):
    """The generic page of the verb, as the person in a browser; a delivery comes in by its own page, piece by piece."""

    browsers: dict[str, Client] = field(default_factory=dict)

    def step(self, step: Step) -> Codes:
        browser = self.browser(step.who)
        path = "/receive/delivery/" if isinstance(step.params, Receive) else f"/do/{step.verb}/"
        said = delivered(step.params) if isinstance(step.params, Receive) else typed(step.params)
        signed = {"password": PASSWORD} if VERBS[step.verb].confirm else {}
        answer = browser.post(path, {"key": str(uuid.uuid4()), **said, **signed})
        if answer.status_code == 302:
            shown = browser.get(answer["Location"], follow=True)
            assert shown.status_code == 200, (step, answer["Location"], shown.status_code)
            return frozenset()
        source = answer.content.decode()
        assert answer.status_code in (403, 409), (step, answer.status_code, re.findall(r"errorlist.*?</ul>", source))
        return frozenset(re.findall(r'<li data-code="([^"]+)"', source))

    def browser(self, who: str) -> Client:
        if who not in self.browsers:
            self.browsers[who] = Client()
            assert self.browsers[who].login(username=who.lower(), password=PASSWORD)
        return self.browsers[who]


@dataclass
class Tablets(Door):
    """POST /api/replay/: what was done is told afterwards, a batch a person, before the next decision at the desk. What was
    refused did not happen, so a tablet has nothing to tell of it."""

    def walk(self, steps: Iterable[Step]) -> list[Codes]:
        out: list[Codes] = []
        done = [step for step in steps if not step.against]
        for (who, told), batch in groupby(done, lambda s: (s.who, VERBS[s.verb].observable)):
            mine = list(batch)
            out += self.send(who, mine) if told else Domain(self.bench, self.at).walk(mine)
        return out

    def send(self, who: str, batch: list[Step]) -> list[Codes]:
        sent_us = clock(batch[-1].at) + 1_000_000
        self.at(sent_us)
        records = [
            {"key": str(uuid.uuid4()), "verb": s.verb, "happened_at": _stamp(s.at), "seq": n, "params": spoken(s.params)}
            for n, s in enumerate(batch)
        ]
        said = {"device": f"tablet of {who}", "sent_at": _stamp(batch[-1].at, 1), "records": records}
        answer = Machine(token_for(self.bench, who, "replay")).post("replay/", said, None)
        results = body(answer)["results"]
        assert not any(r["moved"] for r in results), results
        assert [r["result"] for r in results] == ["accepted"] * len(batch), results
        return [frozenset(reason["code"] for reason in r["reasons"]) for r in results]


def _stamp(at: str, seconds: int = 0) -> str:
    return f"2026-03-30T{at}:{seconds:02}+02:00"


# --- one thing said in several ways --------------------------------------------------------------------------------------


def spoken(params: Any) -> dict[str, Any]:
    """As JSON: what is left at its default is left out."""
    said: dict[str, Any] = json.loads(json.dumps(dataclasses.asdict(params)))
    usual = {f.name: f.default for f in dataclasses.fields(params)}
    return {name: value for name, value in said.items() if getattr(params, name) != usual[name]}


def typed(params: Any) -> dict[str, str]:
    """As a form: rows one a line, their values parted by “;”, yes and no as words."""
    return {f.name: _typed(getattr(params, f.name)) for f in dataclasses.fields(params) if getattr(params, f.name) is not None}


def _typed(value: Any) -> str:
    if isinstance(value, tuple):
        return "\n".join(_typed(row) for row in value)
    if dataclasses.is_dataclass(value):
        return "; ".join(str(getattr(value, f.name)) for f in dataclasses.fields(value))
    return ("yes" if value else "no") if isinstance(value, bool) else str(value)


def delivered(p: Receive) -> dict[str, str]:
    """As the page of a delivery asks it, which takes one piece at a time."""
    (lot,) = p.lots
    (piece,) = lot.pieces
    head = {"number": p.delivery, "material": p.material, "supplier": p.supplier, "place": p.place}
    return head | {"lot": lot.number, "made": lot.made, "mark": piece.mark, "quantity": piece.quantity}


# --- what the shop is like afterwards ------------------------------------------------------------------------------------


def shop() -> dict[str, dict[str, Any]]:
    """The state of everything by its mark. Ids become names; which record came last is each door's own."""
    places = dict(Location.objects.values_list("pk", "code"))
    rows = ItemState.objects.select_related("item__batch")
    names = {row.pk: row.item.mark or row.item.batch.number for row in rows}
    return {names[row.pk]: _named(json.loads(row.doc), names, places) for row in rows}


def _named(doc: dict[str, Any], names: dict[int, str], places: dict[int, str]) -> dict[str, Any]:
    doc.pop("last")
    for name in ("location", "home"):
        if name in doc:
            doc[name] = places[doc[name]]
    strands = [Exposure.from_doc(strand) for strand in doc.get("strands", ())]
    return doc | {"strands": {names[s.source]: s.to_doc()[1:] for s in strands}}
