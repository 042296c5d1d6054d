"""Hostile input against every address: a problem with a code, nothing changed, never a 5xx."""

from __future__ import annotations

import json
import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import URLPattern

from api.urls import urlpatterns
from inventory.models import Act, Edge, Item, Leg
from inventory.verbs.registry import VERBS
from tests.api.client import Machine, body, problem, token_for
from tests.ledger.bench import Bench, clock

pytestmark = pytest.mark.django_db

BODIES: dict[str, tuple[bytes, str]] = {
    "empty": (b"", "application/json"),
    "not json": (b"{", "application/json"),
    "an array": (b"[]", "application/json"),
    "a number": (b"7", "application/json"),
    "null": (b"null", "application/json"),
    "a key twice": (b'{"item": "a", "item": "b"}', "application/json"),
    "NaN": (b'{"item": NaN}', "application/json"),
    "infinity by size": (b'{"item": 1e999}', "application/json"),
    "deep": (b'{"item": ' + b"[" * 100_000 + b"]" * 100_000 + b"}", "application/json"),
    "rather deep": (b'{"item": ' + b"[" * 40 + b"]" * 40 + b"}", "application/json"),
    "latin-1": ('{"item": "é"}'.encode("latin-1"), "application/json; charset=latin-1"),
    "utf-16": ('{"item": "a"}'.encode("utf-16"), "application/json"),
    "NUL": (b'{"item": "a\x00b"}', "application/json"),
    "NUL escaped": (b'{"item": "a\\u0000b"}', "application/json"),
    "lone surrogate": (b'{"item": "\\ud800"}', "application/json"),
    "a form": (b"item=a", "application/x-www-form-urlencoded"),
    "xml": (b"<item/>", "text/xml"),
    "unknown field": (b'{"itme": "a"}', "application/json"),
    "long text": (json.dumps({"item": "x" * 100_000}).encode(), "application/json"),
    "many fields": (json.dumps({f"f{n}": n for n in range(5000)}).encode(), "application/json"),
}
TEXTS = [
    "", " ", "\t", "\x1d", "\u202e", "U-3'; DROP TABLE inventory_act;--", "<script>alert(1)</script>", "=1+1", "{{7*7}}", "%00",
    "../../etc/passwd", "0", "-1", "1e999", "NaN", "١٢", "𝟙𝟚 m", "9" * 400 + " m", "1,234", "−5 m", "𐏿" * 1000, "a" * 4096, "2026-02-30",
    "1850-01-01", "9999-12-31", "\ufffd", "S" * 10, "SAAAAAAAAA", "\\", "\r\n\r\n", "None", "true",
]  # fmt: skip
NUMBERS: list[Any] = [0, -1, 2**31, 2**53, 2**63, -(2**63), 10**30, 0.5, True, None, "7", [], {}]


@pytest.fixture
def machine(set_clock: Callable[[int], None]) -> Machine:
    set_clock(clock("08:00"))
    bench = Bench()
    bench.roll("G7-1")
    return Machine(token_for(bench, "Odile"))


def counts() -> tuple[int, ...]:
    return tuple(m.objects.count() for m in (Act, Leg, Edge, Item))


def addresses() -> list[str]:
    out = []
    for pattern in urlpatterns:
        if isinstance(pattern, URLPattern) and pattern.name != "api-nowhere":
            out.append(
                str(pattern.pattern)
                .replace("<str:code>", "G7-1")
                .replace("<str:number>", "RUD-1")
                .replace("<str:design>", "RUD")
                .replace("<str:recipe>", "LAM")
                .replace("<str:job>", "1")
                .replace("<str:log>", "1")
                .replace("<str:count>", "1")
                .replace("<str:material>", "GB-600")
            )
    return out


def is_problem(response: Any, what: str) -> None:
    assert response.status_code < 500, (what, response.content[:300])
    if response.status_code >= 400:
        found = body(response)
        assert found["code"] and found["status"] == response.status_code, (what, found)
        assert response["Content-Type"].startswith("application/problem+json"), what


@pytest.mark.parametrize("name", list(BODIES))
def test_a_broken_body_is_told_and_changes_nothing(machine: Machine, name: str) -> None:
    raw, kind = BODIES[name]
    before = counts()
    for path in [*(f"verbs/{v}/" for v in sorted(VERBS)), "replay/"]:
        response = machine.post(path, raw, content_type=kind)
        is_problem(response, f"{name} to {path}")
        assert response.status_code >= 400, f"{name} was taken by {path}"
    assert counts() == before


def test_every_method_at_every_address_is_answered(machine: Machine) -> None:
    client = Client(raise_request_exception=False)
    for path in [*addresses(), "nowhere/", "verbs/fly/", "items/G7-1/nothing/"]:
        for method in ("get", "post", "put", "patch", "delete", "options", "head", "trace"):
            response = getattr(client, method)(f"/api/{path}", headers=machine.headers(str(uuid.uuid4())))
            assert response.status_code < 500, (method, path)
            if response.status_code >= 400 and method != "head":
                is_problem(response, f"{method} {path}")


@pytest.mark.parametrize(
    "path", ["items/%00/", "items/%ff/", "items/%2e%2e%2f/", "items/" + "x" * 3000 + "/", "items/%F0%9F%92%A9/", "items/ /"]
)
def test_odd_paths_are_not_found(machine: Machine, path: str) -> None:
    response = machine.get(path)
    is_problem(response, path)
    assert response.status_code == 404


@pytest.mark.parametrize(
    "query",
    ["cursor=x", "cursor=LTE", "cursor=%00", "limit=0", "limit=-1", "limit=1e9", "limit=٣", "limit=99999999999999999999", "format=xml"],
)
def test_odd_queries_are_told(machine: Machine, query: str) -> None:
    response = machine.get(f"items/?{query}")
    is_problem(response, query)
    assert response.status_code in (400, 404, 406), query


@pytest.mark.parametrize("path", ["items/?usable=", "parts/?in_shop=", "counts/?under_way="])
def test_a_filter_that_is_yes_or_left_out_takes_no_other_word(machine: Machine, path: str) -> None:
    """A guess at "no" or "0" would give the list that was not asked for."""
    for text in ("no", "true", "1", "0", "YES", "yes,no", "%00"):
        told = problem(machine.get(path + text), 400, "query.form" if text == "%00" else "query.yes")
        assert told["where"] == path.split("?")[1].removesuffix("=")
    assert {machine.get(path + text).status_code for text in ("", "yes", "%20yes%20")} == {200}


@pytest.mark.parametrize("name", ["q", "material", "place", "lot", "kind"])
def test_any_text_may_be_asked_for(machine: Machine, name: str) -> None:
    from urllib.parse import quote

    for text in TEXTS:
        is_problem(machine.get(f"items/?{name}={quote(text, errors='replace')}"), f"{name}={text!r}")


def test_any_text_in_any_field_is_refused_or_understood_but_never_breaks(machine: Machine) -> None:
    """Each verb gets each text in each of its plain text fields, the others filled with something that fits."""
    import dataclasses
    import typing

    fits = {"item": "G7-1", "place": "RACK", "quantity": "1 m", "reason": "why", "purpose": "panel", "part": "RUD-1", "mass": "1 g"}
    for verb in VERBS.values():
        hints = typing.get_type_hints(verb.params)
        names = [f.name for f in dataclasses.fields(verb.params) if hints[f.name] is str]
        base = {n: fits.get(n, "x") for n in names}
        for n in names:
            for text in TEXTS[:: 1 if n in ("item", "quantity", "taken") else 4]:
                is_problem(machine.do(verb.name, base | {n: text}), f"{verb.name}.{n}={text[:40]!r}")


def test_any_number_in_any_number_field_never_breaks(machine: Machine) -> None:
    import dataclasses
    import typing

    for verb in VERBS.values():
        hints = typing.get_type_hints(verb.params)
        for f in dataclasses.fields(verb.params):
            if int not in (hints[f.name], *typing.get_args(hints[f.name])):
                continue
            for number in NUMBERS:
                required = {
                    g.name: "x" for g in dataclasses.fields(verb.params) if g.default is dataclasses.MISSING and hints[g.name] is str
                }
                is_problem(machine.do(verb.name, required | {f.name: number}), f"{verb.name}.{f.name}={number!r}")
