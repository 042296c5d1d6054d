"""Tests and defects of a part. Both are facts: they are stored as they are, and what fails is quality's until disposed of."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from inventory.core.reasons import Reason
from inventory.core.said import say
from inventory.models import Act, Finding
from inventory.recording import Line, Transaction, findings
from inventory.verbs.registry import BUILDER, OWNER, QUALITY, Call, Outcome, verb
from layups.core import verdicts
from layups.core.verdicts import DEFECT, DROP, KINDS
from layups.models import Defect, Inspection
from layups.reads.results import DROP_RULE

from .finding import made_of, words


@dataclass(frozen=True, slots=True)
class Inspect:
    """`kind`: drop test, hardness, tap test, dimensions, roundness or visual. `readings` as read: "4 mbar" for a drop test, blanks
    between hardness readings. `passed`: only where the design states no limit. `instrument`: the gauge or tester (VG-1)."""

    part: str
    kind: str
    readings: str = ""
    passed: bool | None = None
    instrument: str = ""


@verb("inspect", Inspect, (BUILDER, QUALITY, OWNER), say("Record a test"))
def inspect(call: Call, p: Inspect) -> Outcome:
    made, kind = made_of(call, p.part), verdicts.kind_of(p.kind)
    readings, instrument = words(p.readings, "readings", 1200), words(p.instrument, "instrument", 40)
    design = made.part.design
    verdict = verdicts.judge(kind, readings, p.passed, design.drop_limit_pa, design.hardness_min)
    failed = "passed" if verdict.passed else "failed"
    sentence = (
        say("{kinds} of {made}: {result}", kinds=KINDS[kind], made=made, result=verdict.result)
        + (say(", limit {limit}", limit=verdict.limit) if verdict.limit else "")
        + say(": {failed}.", failed=failed)
    )
    # A leak in the bag is no defect of the part: a test that passes settles it.
    defect = "" if verdict.passed or kind == DROP else DEFECT.get(kind, say("{kinds} failed", kinds=KINDS[kind].lower()))

    def check(tx: Transaction) -> Iterator[Reason]:
        if defect:
            numbers: dict[str, int | str | None] = {"kind": kind, "result": verdict.result, "limit": verdict.limit, "defect": defect}
            yield Reason("inspection.failed", say("{sentence} Defect: {defect}.", sentence=sentence, defect=defect), numbers)
        elif not verdict.passed:
            yield Reason(DROP_RULE, sentence, {"result": verdict.result, "limit": verdict.limit})

    def rows(tx: Transaction, act: Act, names: dict[str, int]) -> None:
        Inspection.objects.create(
            part=made.part,
            kind=kind,
            readings=readings,
            result=verdict.result[:40],
            limit=verdict.limit[:40],
            passed=verdict.passed,
            instrument=instrument,
            act=act,
        )
        if defect:
            Defect.objects.create(part=made.part, code=defect, text=sentence, act=act)
        if kind == DROP and verdict.passed:
            leaks = Finding.objects.filter(item=made.id, closed_us__isnull=True, code__startswith=DROP_RULE)
            findings.close(list(leaks), tx.now_us, findings.LATER)

    body = {"test": kind, "result": verdict.result, "limit": verdict.limit, "passed": verdict.passed, "instrument": instrument}
    claim = call.claim("inspect", [Line(made.id)], p, stance="observed", body=body, checks=(check,), effects=(rows,))
    receipts = call.record([claim], "inspect")
    data = {"part": made.part.number, "kind": kind, "passed": verdict.passed, "result": verdict.result, "limit": verdict.limit}
    return Outcome(sentence, receipts, data | {"defect": defect})


@dataclass(frozen=True, slots=True)
class FoundDefect:
    """`defect`: what it is called in the shop ("soft laminate"). `text`: where and how much."""

    part: str
    defect: str
    text: str = ""


@verb("defect", FoundDefect, (BUILDER, QUALITY, OWNER), say("Record a defect"))
def defect_found(call: Call, p: FoundDefect) -> Outcome:
    made = made_of(call, p.part)
    code, text = words(p.defect, "defect", 40, needed=True).lower(), words(p.text, "text", 2000)
    sentence = say("Defect on {made}: {code}.", made=made, code=code) + (say(" {text}", text=text) if text else "")

    def check(tx: Transaction) -> Iterator[Reason]:
        yield Reason("defect.found", sentence, {"part": made.part.number, "defect": code})

    def row(tx: Transaction, act: Act, names: dict[str, int]) -> None:
        Defect.objects.create(part=made.part, code=code, text=text, act=act)

    claim = call.claim("defect", [Line(made.id)], p, stance="observed", body={"defect": code}, checks=(check,), effects=(row,))
    return Outcome(sentence, call.record([claim], "defect"), {"part": made.part.number, "defect": code})
