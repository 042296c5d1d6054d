"""What people read, kept so that it can be read in another language and in other units.

A `Said` is a `str`: its text is the English, metric sentence, and everything that stores, compares, sends or tests sees that. Besides
it knows the template and the values it was made of. A page shows it through `__html__`, which the template engine asks by itself: there
the template is translated and each value is said anew, for whoever reads. What is added to it, joined or trimmed stays a `Said`.

Cores know no reader: `listen` is called once by the application, and says who reads now.
"""

from __future__ import annotations

import html
from collections.abc import Callable, Iterable
from typing import Any, Protocol, SupportsIndex

Again = Callable[[str], str]


class Reader(Protocol):
    """Who reads: their system of units, a template in their language, and its bare figures in their units. `about` tells apart what
    English calls the same."""

    @property
    def system(self) -> str: ...

    def word(self, template: str, about: str) -> str: ...

    def plural(self, one: str, many: str, n: int) -> str: ...

    def figures(self, template: str, values: dict[str, Any]) -> tuple[str, dict[str, Any]]: ...


class Plain:
    """Reads what is written: English and metric."""

    system = "metric"

    def word(self, template: str, about: str) -> str:
        return template

    def plural(self, one: str, many: str, n: int) -> str:
        return one if n == 1 else many

    def figures(self, template: str, values: dict[str, Any]) -> tuple[str, dict[str, Any]]:
        return template, values


CANONICAL: Reader = Plain()
_who: Callable[[], Reader] = lambda: CANONICAL  # noqa: E731
_safe: Callable[[str], str] = str


def listen(who: Callable[[], Reader], safe: Callable[[str], str] = str) -> None:
    """From now on `who` says who reads, and `safe` marks text that is escaped already."""
    global _who, _safe
    _who, _safe = who, safe


class Told(str):
    """Text that somebody else reads differently."""

    __slots__ = ()

    def to(self, reader: Reader) -> str:
        """The same, for this reader."""
        return str.__str__(self)

    def __html__(self) -> str:
        return _safe(html.escape(self.to(_who())))

    def __getitem__(self, at: SupportsIndex | slice, /) -> str:
        return Turned(self, "__getitem__", (at,)) if isinstance(at, slice) else str.__getitem__(self, at)

    def __deepcopy__(self, memo: object) -> Told:
        return self

    def __copy__(self) -> Told:
        return self

    def __add__(self, other: str) -> Told:
        return Joined((self, other))

    def __radd__(self, other: str) -> Told:
        return Joined((other, self))

    def strip(self, chars: str | None = None, /) -> Told:
        return Turned(self, "strip", (chars,))

    def lstrip(self, chars: str | None = None, /) -> Told:
        return Turned(self, "lstrip", (chars,))

    def rstrip(self, chars: str | None = None, /) -> Told:
        return Turned(self, "rstrip", (chars,))

    def removesuffix(self, suffix: str, /) -> Told:
        return Turned(self, "removesuffix", (suffix,))

    def removeprefix(self, prefix: str, /) -> Told:
        return Turned(self, "removeprefix", (prefix,))

    def replace(self, old: str, new: str, count: SupportsIndex = -1, /) -> Told:
        return Turned(self, "replace", (old, new, count))

    def capitalize(self) -> Told:
        return Turned(self, "capitalize", ())

    def lower(self) -> Told:
        return Turned(self, "lower", ())

    def upper(self) -> Told:
        return Turned(self, "upper", ())


class Said(Told):
    """A sentence with its figures by name, or a word without any."""

    __slots__ = ("about", "many", "n", "template", "values")

    about: str
    many: str
    n: int
    template: str
    values: dict[str, Any]

    def __new__(cls, template: str, values: dict[str, Any] | None = None, about: str = "", many: str = "", n: int = 1) -> Said:
        kept = {name: value if isinstance(value, (str, int, float)) else str(value) for name, value in (values or {}).items()}
        self = str.__new__(cls, (template if n == 1 or not many else many).format(**kept))
        self.template, self.values, self.about, self.many, self.n = template, kept, about, many, n
        return self

    def __getnewargs__(self) -> tuple[Any, ...]:
        return self.template, self.values, self.about, self.many, self.n

    def to(self, reader: Reader) -> str:
        said = reader.plural(self.template, self.many, self.n) if self.many else reader.word(self.template, self.about)
        said, values = reader.figures(said, self.values)
        return said.format(**{name: _value(value, reader) for name, value in values.items()})


class Joined(Told):
    """Texts one after the other."""

    __slots__ = ("parts",)

    parts: tuple[str, ...]

    def __new__(cls, parts: tuple[str, ...]) -> Joined:
        self = str.__new__(cls, "".join(parts))
        self.parts = parts
        return self

    def __getnewargs__(self) -> tuple[Any, ...]:
        return (self.parts,)

    def to(self, reader: Reader) -> str:
        return "".join(read_out(part, reader) for part in self.parts)


class Turned(Told):
    """A text of which something was taken off at its ends, or whose letters are larger or smaller."""

    __slots__ = ("given", "how", "of")

    of: Told
    how: str
    given: tuple[Any, ...]

    def __new__(cls, of: Told, how: str, given: tuple[Any, ...]) -> Turned:
        self = str.__new__(cls, _turn(str.__str__(of), how, given))
        self.of, self.how, self.given = of, how, given
        return self

    def __getnewargs__(self) -> tuple[Any, ...]:
        return self.of, self.how, self.given

    def to(self, reader: Reader) -> str:
        return _turn(self.of.to(reader), self.how, self.given)


class Measured(Told):
    """A measure: `again` says it in a system of units."""

    __slots__ = ("again",)

    again: Again

    def __new__(cls, text: str, again: Again) -> Measured:
        self = str.__new__(cls, text)
        self.again = again
        return self

    def __getnewargs__(self) -> tuple[Any, ...]:
        return str.__str__(self), self.again

    def to(self, reader: Reader) -> str:
        if reader.system == "metric":
            return str.__str__(self)
        other = self.again(reader.system)
        return other.to(reader) if isinstance(other, Said) else str.__str__(other)


NAMED: dict[str, Said] = {}
"""Words that are codes as well (roll, kit, dwell): where one stands in a sentence by itself, it is read like any other word."""


def _value(value: object, reader: Reader) -> str:
    return read_out(NAMED.get(value, value) if type(value) is str else value, reader)


def say(template: str, /, **values: object) -> str:
    """A sentence that people read: `say("{left} left on {code}", left=…, code=…)`. The template is whole, and the same every time, so that
    it can be translated; what differs is a value, which may be a `Told` itself."""
    return Said(template, values)


def say_as(about: str, template: str, /, **values: object) -> str:
    """The same for what English calls like something else: `say_as("verb", "open")`."""
    return Said(template, values, about)


def say_n(one: str, many: str, n: int, /, **values: object) -> str:
    """The same with a number, `{n}`, that decides between two templates."""
    return Said(one, {"n": n, **values}, "", many, n)


def template(text: str) -> str:
    """A template that is said elsewhere, marked so that it is found and translated."""
    return text


def worded(text: str, about: str = "") -> str:
    """A word that comes out of a table or out of the code itself (a role, the name of a field), as it is read."""
    return Said(text.replace("{", "{{").replace("}", "}}"), None, about)


def strung(between: str, parts: Iterable[str]) -> str:
    """`between.join(parts)`, for texts that are read."""
    found: list[str] = []
    for part in parts:
        if found:
            found.append(between)
        found.append(part)
    return Joined(tuple(found))


def first_up(text: str) -> str:
    """The text as it begins a sentence."""
    return Turned(text, "first_up", ()) if isinstance(text, Told) else _first_up(text)


def _first_up(text: str) -> str:
    return text[:1].upper() + text[1:]


def _turn(text: str, how: str, given: tuple[Any, ...]) -> str:
    turned: str = _first_up(text) if how == "first_up" else getattr(str, how)(text, *given)
    return turned


def read_out(text: object, reader: Reader | None = None) -> str:
    """As whoever reads now is to see it; what is no `Told` is the same for everybody."""
    if isinstance(text, Told):
        return text.to(reader or _who())
    return text if isinstance(text, str) else str(text)
