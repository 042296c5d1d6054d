"""The standard laminate notation, read and written: "[0/±45/90]s" is eight plies, from the tool side up.

What is read:

- Brackets hold the plies, parted by "/" or ",". An angle is in degrees from −90 to 90, with at most three decimals.
- "±45" is +45 then −45, "∓45" the other way round.
- A count stands behind an underscore, "0_4", or as lowered digits, "0₄"; behind a group in parentheses it may stand bare: "(0/90)2".
- Behind the closing bracket: a count repeats the stack, "s" mirrors it. In "]2s" the stack is repeated and the whole then
  mirrored; in "]s2" it is mirrored first and that repeated. "T" says that all plies are written.
- A bar over the last ply of a mirrored stack (U+0305 behind it, or "~") makes it the middle ply, which is there once.
- "(0/90)f" is one ply of a fabric whose yarns run in both directions; they stand at right angles. "mat" is a ply of random mat
  and "core" a core, which have no direction.
- A material's code may follow a ply behind a colon: "0:PP-U", "(±45)f:PP-T". A material behind a group holds for all of it.

Sources for the form: the laminate orientation code as handbooks of the trade use it (CMH-17, volume 2); the spelling of
materials and of the middle ply in plain keys is our own.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from inventory.core.numerals import shown
from inventory.core.reasons import BadInput
from inventory.core.said import say

MAX_TEXT = 2000
MAX_PLIES = 2000
UD, FABRIC, MAT, CORE = "ud", "fabric", "mat", "core"
NO_DIRECTION = (MAT, CORE)
_RIGHT_ANGLE = 90_000
_LOWERED = re.compile("[₀-₉]+")
_DIGITS = {ord("₀") + n: str(n) for n in range(10)}
_BAR = "\u0305"
_ANGLE = re.compile(r"([+±∓-]?)(\d{1,3}(?:\.\d{1,3})?)")
_COUNT = re.compile(r"_?(\d{1,4})")
_MATERIAL = re.compile(r":([A-Za-z0-9][A-Za-z0-9.-]{0,23})")
_SUFFIX = re.compile(r"(?:_?(\d{1,4}))?([sS]?)(?:_?(\d{1,4}))?(T?)")


@dataclass(frozen=True, slots=True)
class Layer:
    """One ply. `angle_md`: its first direction in thousandths of a degree, over −90 000 up to 90 000; 0 where there is none. `form`:
    "ud" (one direction), "fabric" (yarns at right angles to it too), "mat" or "core". `material`: a code, "" when none was written."""

    angle_md: int
    form: str = UD
    material: str = ""


def read(text: str) -> list[Layer]:
    """The plies from the tool side up. Raises BadInput layup.empty, .too_long, .too_many, .unreadable, .angle, .fabric,
    .middle; the sentence says at which character."""
    clean = text.strip().replace("−", "-").replace("–", "-")
    clean = _LOWERED.sub(lambda found: "_" + found[0].translate(_DIGITS), clean)
    if not clean:
        raise BadInput("layup.empty", say("Write a layup, such as [0/±45/90]s."), "layup")
    if len(clean) > MAX_TEXT:
        raise BadInput(
            "layup.too_long",
            say("A layup has at most {max_text} characters: repeat plies with a count, such as 0_4.", max_text=MAX_TEXT),
            "layup",
        )
    return _Reader(clean).laminate()


class _Reader:
    """Reads from left to right; `at` is the next character."""

    def __init__(self, text: str) -> None:
        self.text, self.at = text, 0

    def laminate(self) -> list[Layer]:
        bracketed = self._take("[")
        layers, middle = self._stack()
        if not bracketed:
            self._end()
            return self._mirrored(layers, middle, "")
        if not self._take("]"):
            raise self._wrong(say("a “/” or the closing “]” is missing here"))
        found = _SUFFIX.match(self.text, self.at)
        assert found is not None  # it matches nothing, too
        before, mirror, after, _ = found.groups()
        if after is not None and not mirror:
            raise self._wrong(say("two counts follow each other"))
        self.at = found.end()
        self._end()
        once = self._mirrored(self._times(layers, before), middle, mirror)
        return self._times(once, after)

    def _stack(self) -> tuple[list[Layer], bool]:
        """Plies up to a bracket or the end, and whether the last is a middle ply."""
        layers: list[Layer] = []
        while True:
            more, middle = self._group()
            layers += more
            if len(layers) > MAX_PLIES:
                raise _too_many()
            self._spaces()
            if middle and self.text.startswith(("/", ","), self.at):
                raise self._wrong(say("only the last ply can be the middle one"))
            if not (self._take("/") or self._take(",")):
                return layers, middle

    def _group(self) -> tuple[list[Layer], bool]:
        self._spaces()
        layers = self._of(self._several() if self._take("(") else self._ply())
        middle = self._take(_BAR) or self._take("~")
        if middle and len(layers) != 1:
            raise self._wrong(say("the middle ply is one ply"))
        return layers, middle

    def _several(self) -> list[Layer]:
        layers, middle = self._stack()
        if middle:
            raise self._wrong(say("a middle ply stands by itself, not in parentheses"))
        if not self._take(")"):
            raise self._wrong(say("a “/” or the closing “)” is missing here"))
        if self._take("f"):
            layers = [self._woven(layers)]
        return self._times(layers, self._count())

    def _ply(self) -> list[Layer]:
        for form in NO_DIRECTION:
            if self._take(form):
                return self._times([Layer(0, form)], self._count(bare=False))
        found = _ANGLE.match(self.text, self.at)
        if found is None:
            raise self._wrong(say("an angle is expected here"))
        sign, digits = found.groups()
        angle = Fraction(digits) * 1000
        if angle > _RIGHT_ANGLE:
            raise BadInput(
                "layup.angle",
                say("{digits}° at character {at}: angles lie between −90 and 90.", digits=digits, at=self.at + 1),
                "layup",
                at=self.at + 1,
            )
        self.at = found.end()
        md = int(angle)
        signs = {"±": (1, -1), "∓": (-1, 1), "-": (-1,)}.get(sign, (1,))
        return self._times([Layer(_turned(s * md)) for s in signs], self._count(bare=False))

    def _of(self, layers: list[Layer]) -> list[Layer]:
        found = _MATERIAL.match(self.text, self.at)
        if found is None:
            return layers
        self.at = found.end()
        return [layer if layer.material else replace(layer, material=found[1]) for layer in layers]

    def _count(self, bare: bool = True) -> str | None:
        if not bare and not self.text.startswith("_", self.at):
            return None
        found = _COUNT.match(self.text, self.at)
        if found is None:
            if self._take("_"):
                raise self._wrong(say("a count is expected behind “_”"))
            return None
        self.at = found.end()
        return found[1]

    def _times(self, layers: list[Layer], count: str | None) -> list[Layer]:
        if count is None:
            return layers
        if int(count) == 0:
            raise self._wrong(say("a count of 0 leaves no ply"))
        if len(layers) * int(count) > MAX_PLIES:
            raise _too_many()
        return layers * int(count)

    def _mirrored(self, layers: list[Layer], middle: bool, mirror: str) -> list[Layer]:
        if middle and not mirror:
            raise BadInput("layup.middle", say("A middle ply needs a mirrored stack: put “s” behind the bracket, as in [0/90~]s."), "layup")
        if not mirror:
            return layers
        if 2 * len(layers) > MAX_PLIES:
            raise _too_many()
        return layers + layers[::-1][1 if middle else 0 :]

    def _woven(self, layers: list[Layer]) -> Layer:
        if (
            [layer.form for layer in layers] != [UD, UD]
            or layers[0].material != layers[1].material
            or _turned(layers[0].angle_md + _RIGHT_ANGLE) != layers[1].angle_md
        ):
            text = say("Before character {at}: a fabric has two directions at right angles, as in (0/90)f or (±45)f.", at=self.at + 1)
            raise BadInput("layup.fabric", text, "layup", at=self.at + 1)
        return replace(layers[0], form=FABRIC)

    def _spaces(self) -> None:
        while self._take(" "):
            pass

    def _take(self, sign: str) -> bool:
        if not self.text.startswith(sign, self.at):
            return False
        self.at += len(sign)
        return True

    def _end(self) -> None:
        self._spaces()
        if self.at < len(self.text):
            raise self._wrong(say("nothing more is expected here"))

    def _wrong(self, what: str) -> BadInput:
        here = f"“{shown(self.text[self.at :])}”" if self.at < len(self.text) else say("the end")
        text = say("The layup cannot be read at character {at}, {here}: {what}.", at=self.at + 1, here=here, what=what)
        return BadInput("layup.unreadable", text, "layup", at=self.at + 1)


def _turned(md: int) -> int:
    """The same direction over −90° up to 90°."""
    return md if -_RIGHT_ANGLE < md <= _RIGHT_ANGLE else md % 180_000 - (180_000 if md % 180_000 > _RIGHT_ANGLE else 0)


def _too_many() -> BadInput:
    return BadInput("layup.too_many", say("A layup has at most {max_plies} plies.", max_plies=MAX_PLIES), "layup")


# --- writing ----------------------------------------------------------------------------------------


def write(layers: Sequence[Layer]) -> str:
    """The shortest of the usual forms; `read` gives the same plies again. "" for no plies."""
    if not layers:
        return ""
    half, count, suffix, middle = _halved(list(layers))
    items = [*_items(half[:-1]), f"{_one(half[-1], 1)}~"] if middle else _items(half)
    return f"[{'/'.join(items)}]{count if count > 1 else ''}{suffix}"


def _halved(layers: list[Layer]) -> tuple[list[Layer], int, str, bool]:
    """What stands in the brackets, how often, "s" if it is mirrored, and whether its last ply is the middle one."""
    n = len(layers)
    if n < 2 or layers != layers[::-1] or len(set(layers)) == 1:
        unit, count = _period(layers)
        return unit, count, "", False
    if n % 2 == 0:
        unit, count = _period(layers[: n // 2])
        return unit, count, "s", False
    return layers[: n // 2 + 1], 1, "s", True


def _period(layers: list[Layer]) -> tuple[list[Layer], int]:
    n = len(layers)
    if len(set(layers)) > 1:
        for size in range(1, n // 2 + 1):
            if n % size == 0 and layers == layers[:size] * (n // size):
                return layers[:size], n // size
    return layers, 1


def _items(layers: list[Layer]) -> list[str]:
    """Runs of one ply with their count, pairs of opposite angles as ±, materials behind them."""
    items, i = [], 0
    while i < len(layers):
        run = _run(layers, i, 1)
        pair = _pairs(layers, i)
        if pair:
            first = layers[i]
            sign = "±" if first.angle_md > 0 else "∓"
            items.append(sign + _digits(abs(first.angle_md)) + (f"_{pair}" if pair > 1 else "") + _code(first))
            i += 2 * pair
            continue
        items.append(_one(layers[i], run))
        i += run
    return items


def _run(layers: list[Layer], i: int, size: int) -> int:
    n = 1
    while layers[i + n * size : i + (n + 1) * size] == layers[i : i + size]:
        n += 1
    return n


def _pairs(layers: list[Layer], i: int) -> int:
    """How many pairs of opposite angles follow each other from `i` on."""
    pair = layers[i : i + 2]
    if len(pair) < 2 or any(p.form != UD for p in pair) or pair[0].material != pair[1].material:
        return 0
    if pair[0].angle_md != -pair[1].angle_md or pair[0].angle_md in (0, _RIGHT_ANGLE):
        return 0
    return _run(layers, i, 2)


def _one(layer: Layer, count: int) -> str:
    times = f"_{count}" if count > 1 else ""
    if layer.form in NO_DIRECTION:
        return layer.form + times + _code(layer)
    if layer.form == UD:
        return ("−" if layer.angle_md < 0 else "") + _digits(abs(layer.angle_md)) + times + _code(layer)
    other = _turned(layer.angle_md + _RIGHT_ANGLE)
    inside = (
        f"±{_digits(layer.angle_md)}" if other == -layer.angle_md and layer.angle_md > 0 else f"{_signed(layer.angle_md)}/{_signed(other)}"
    )
    return f"({inside})f{times}{_code(layer)}"


def _signed(md: int) -> str:
    return ("−" if md < 0 else "") + _digits(abs(md))


def _digits(md: int) -> str:
    whole, part = divmod(md, 1000)
    return f"{whole}.{part:03d}".rstrip("0") if part else str(whole)


def _code(layer: Layer) -> str:
    return f":{layer.material}" if layer.material else ""
