"""From what a person or a scanner says to parts, designs and cure runs, and short texts that may be kept."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from inventory.composed import Composed
from inventory.core.numerals import shown
from inventory.core.reasons import BadInput
from inventory.core.said import say, strung
from inventory.models import Item
from inventory.verbs.registry import Call
from inventory.verbs.resolve import item_of
from layups.models import CureRun, Design, Part

MADE = ("part", "assembly")


@dataclass(frozen=True, slots=True)
class Made:
    """A part or an assembly: its item and its row."""

    item: Item
    part: Part

    @property
    def id(self) -> int:
        return self.item.pk

    def __str__(self) -> str:
        return self.part.number


def words(text: str, where: str, most: int, needed: bool = False) -> str:
    """A short text as typed, trimmed. BadInput text.needed, text.too_long, text.unprintable."""
    text = text.strip()
    if needed and not text:
        raise BadInput("text.needed", say("Say which {where}.", where=where), where)
    if len(text) > most:
        raise BadInput(
            "text.too_long", say("“{text}” is longer than {most} characters: shorten it.", text=shown(text), most=most), where, most=most
        )
    if any(not ch.isprintable() for ch in text.replace("\n", " ")):
        raise BadInput("text.unprintable", say("“{text}” holds characters that cannot be printed: type it again.", text=shown(text)), where)
    return text


def design_of(text: str) -> Design:
    """BadInput design.unknown, design.retired."""
    row = Design.objects.filter(code__iexact=words(text, "design", 24, needed=True)).first()
    if row is None:
        raise BadInput("design.unknown", say("There is no design “{text}”: add it under designs first.", text=shown(text)), "design")
    if not row.active:
        raise BadInput("design.retired", say("{code} is no longer built: choose the design that replaced it.", code=row.code), "design")
    return row


_BY_ITEM = Composed(lambda item: Part.objects.select_related("design", "customer").filter(item=item), int)


def made_of(call: Call, text: str, where: str = "part") -> Made:
    """A part or an assembly by its number or any of its codes. BadInput as `item_of`, and part.unknown."""
    try:
        item = item_of(call, text, MADE)
    except BadInput as bad:
        raise BadInput(bad.reason.code, bad.reason.text, where, **bad.reason.numbers) from bad
    part = _BY_ITEM.first(item.pk)
    if part is None:
        raise BadInput("part.unknown", say("{item} has no part record: begin it as a part first.", item=item), where)
    return Made(item, part)


def several(call: Call, first: str, also: Sequence[str] = (), where: str = "part") -> list[Made]:
    """Parts, each once, in the order given."""
    found = [made_of(call, text, where) for text in (first, *also) if text.strip()]
    if not found:
        raise BadInput("part.needed", say("Say which part."), where)
    return list({m.id: m for m in found}.values())


def run_of(call: Call, text: str) -> CureRun:
    """BadInput run.unknown."""
    number = words(text, "run", 40, needed=True)
    row = CureRun.objects.select_related("location__storage").filter(site=call.who.site, number=number).first()
    if row is None:
        raise BadInput("run.unknown", say("There is no cure run “{number}”: load a part into it first.", number=shown(number)), "run")
    return row


def listed(names: Iterable[object]) -> str:
    """ "RUD-073, RUD-074 and RUD-075"."""
    texts = [str(n) for n in names]
    return texts[0] if len(texts) == 1 else say("{texts} and {texts_2}", texts=strung(", ", texts[:-1]), texts_2=texts[-1])


def plies_text(seqs: Sequence[int]) -> str:
    """ "ply 7", "plies 1–6, 8"."""
    runs: list[list[int]] = []
    for seq in sorted(set(seqs)):
        if runs and seq == runs[-1][1] + 1:
            runs[-1][1] = seq
        else:
            runs.append([seq, seq])
    text = strung(", ", (str(a) if a == b else say("{a}–{value}", a=a, value=b) for a, b in runs))
    return say("ply {text}", text=text) if len(set(seqs)) == 1 else say("plies {text}", text=text)
