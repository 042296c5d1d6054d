"""What people do, said shortly: each method writes one call into the script, under a name of its own."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Any

from inventory.core.units import display
from inventory.verbs import counting, cutting, deciding, mixing, moving
from layups.verbs import bagging, curing, inspecting, joining, laying, shipping, starting

from .anchor import MINUTE_US, Anchor
from .master import Yard
from .script import Script, code_of

G, KG, M, MM, M2 = 10**6, 10**9, 10**6, 10**3, 10**8
UNITS = {"um": "m", "ug": "kg", "cmm2": "m²", "pc": "pc"}


def said(qty: int, unit: str) -> str:
    """A quantity as somebody would type it, to the last figure."""
    return f"{qty} pc" if unit == "pc" else display(qty, unit, exact=True)


class Hands:
    """`yard` and its `anchor`; every `at` is an instant in µs, every item its mark, which also makes its code."""

    def __init__(self, yard: Yard) -> None:
        self.yard: Yard = yard
        self.anchor: Anchor = yard.anchor
        self.script = Script(yard)
        self.runs = 0
        self._count: Counter[str] = Counter()

    def at(self, day: int, clock: str) -> int:
        return self.anchor.at(day, clock)

    def call(self, at: int, who: str, verb: str, params: Any, subject: str, **more: Any) -> None:
        name = f"{verb} {subject}"
        self._count[name] += 1
        if self._count[name] > 1:
            name = f"{name} ({self._count[name]})"
        self.script.add(at, name, who, verb, params, **more)

    def unit(self, material: str) -> str:
        return self.yard.material[material].unit

    # --- the store -----------------------------------------------------------------------------

    def move(self, at: int, who: str, item: str, place: str, back: int | None = None, **more: Any) -> None:
        self.call(at, who, "move", moving.Move(code_of(item), place, back), item, **more)

    def open(self, at: int, who: str, item: str, dry: bool | None = None) -> None:
        self.call(at, who, "open", moving.Open(code_of(item), dry), item)

    def count(self, at: int, who: str, item: str, quantity: str, claim: bool = False, **more: Any) -> None:
        self.call(at, who, "count", counting.Count(code_of(item), quantity, claim=claim), item, **more)

    def scrap(self, at: int, who: str, item: str, cause: str, quantity: str = "") -> None:
        self.call(at, who, "scrap", counting.Scrap(code_of(item), cause, quantity), item)

    def use(self, at: int, who: str, item: str, quantity: str, purpose: str, note: str = "") -> None:
        self.call(at, who, "use", counting.UseOtherwise(code_of(item), quantity, purpose, note), item)

    def tank(self, at: int, mark: str, material: str, place: str) -> None:
        self.call(at, "Ines", "new_tank", cutting.NewTank(mark, material, place, code_of(mark)), mark)

    def pour(self, at: int, who: str, item: str, into: str, quantity: str) -> None:
        self.call(at, who, "pour", cutting.Pour(code_of(item), code_of(into), quantity), into)

    def kit(self, at: int, who: str, roll: str, taken: str, mark: str, job: str = "", net: str = "", place: str = "", **more: Any) -> None:
        plies = tuple(more.pop("plies", ()))
        params = cutting.CutKit(code_of(roll), taken, net, mark, code_of(mark), job, plies, place)
        self.call(at, who, "cut_kit", params, mark, **more)

    def baseline(self, at: int, item: str, used: str, reason: str) -> None:
        """Quality's starting value for a piece whose history nobody knows."""
        self.call(at, "Odile", "baseline", deciding.Baseline(code_of(item), used, reason), item)

    def dispose(self, at: int, item: str, meaning: str, reference: str = "", reason: str = "") -> None:
        self.call(at, "Odile", "dispose", deciding.Dispose(code_of(item), meaning, reference, reason), item)

    # --- the bench -----------------------------------------------------------------------------

    def mix(
        self, at: int, who: str, recipe: str, mark: str, parts: Sequence[tuple[str, int]], place: str, temp_mc: int, **more: Any
    ) -> int:
        """Components as (mark, µg); returns the pot's mass."""
        components = tuple(mixing.Component(code_of(item), said(ug, "ug")) for item, ug in parts)
        stop = more.pop("minutes", None)
        params = mixing.Mix(components, place, recipe, f"{temp_mc / 1000:.1f}", mark, code_of(mark), stop)
        self.call(at, who, "mix", params, mark, **more)
        return sum(ug for _, ug in parts)

    def gel(self, at: int, who: str, mark: str, **more: Any) -> None:
        self.call(at, who, "gel", mixing.GelSeen(code_of(mark)), mark, **more)

    def measure(self, at: int, place: str, temp_mc: int, humidity: str = "") -> None:
        self.call(at, "Bram", "measure", mixing.Measure(place, f"{temp_mc / 1000:.1f}", humidity, "air logger"), place)

    # --- the bay -------------------------------------------------------------------------------

    def start(self, at: int, who: str, design: str, number: str, place: str, customer: str = "", **more: Any) -> None:
        name = self.yard.customer[customer].name if customer else ""
        planned, length = more.pop("planned", None), more.pop("length", "")
        params = starting.StartPart(design, number, place, name, planned, length, code_of(number))
        self.call(at, who, "start_part", params, number, **more)

    def cut_parts(self, at: int, who: str, run: str, design: str, length: str, pieces: Sequence[str], place: str) -> None:
        marks = tuple(starting.Piece(name, code_of(name)) for name in pieces)
        self.call(at, who, "cut_parts", starting.CutParts(code_of(run), design, length, marks, place), run)

    def lay(self, at: int, who: str, item: str, parts: str | Sequence[str], qty: str = "", **more: Any) -> None:
        """Into one part or several alike; `plies`, `step`, `dry`, `extra` as the verb has them."""
        numbers = [parts] if isinstance(parts, str) else list(parts)
        plies, step = tuple(more.pop("plies", ())), more.pop("step", "")
        dry, extra = more.pop("dry", None), more.pop("extra", False)
        also = tuple(laying.Into(code_of(n), qty, plies) for n in numbers[1:])
        params = laying.Lay(code_of(item), code_of(numbers[0]), plies, step, qty, also, dry, extra)
        self.call(at, who, "lay", params, f"{item} into {numbers[0]}", **more)

    def bag(self, at: int, who: str, parts: Iterable[str]) -> None:
        first, *also = parts
        self.call(at, who, "bag", bagging.Bag(code_of(first), tuple(code_of(n) for n in also)), first)

    # --- cure, tests, out of the door ----------------------------------------------------------

    def load(self, at: int, who: str, run: str, place: str, parts: Sequence[str]) -> None:
        params = curing.CureLoad(run, place, code_of(parts[0]), tuple(code_of(n) for n in parts[1:]))
        self.call(at, who, "cure_load", params, f"{run} {parts[0]}")

    def cure(self, parts: Sequence[str], who: str, place: str, on: int, off: int, after: str = "") -> str:
        """Loaded twenty minutes before heating begins; `after`: where the parts go when it is done. Returns the run's number."""
        self.runs += 1
        run = f"CR-{self.runs:03d}"
        self.load(on - minutes(20), who, run, place, parts)
        self.call(on, who, "cure_on", curing.CureOn(run), run)
        self.call(off, who, "cure_off", curing.CureOff(run, (), after), run)
        return run

    def abort(self, at: int, who: str, run: str, reached: str) -> None:
        self.call(at, who, "cure_abort", curing.CureAbort(reached, run), run)

    def cure_there(self, parts: Sequence[str], who: str, on: int, off: int) -> None:
        """A cure where the parts stand, at room temperature or in a die."""
        codes = tuple(code_of(n) for n in parts)
        self.call(on, who, "cure_on", curing.CureOn("", codes), parts[0])
        self.call(off, who, "cure_off", curing.CureOff("", codes), parts[0])

    def step(self, at: int, who: str, part: str, step: str, place: str = "", note: str = "", also: Sequence[str] = ()) -> None:
        params = curing.Step(code_of(part), step, note, place, tuple(code_of(n) for n in also))
        self.call(at, who, "step", params, part)

    def test(self, at: int, who: str, part: str, kind: str, readings: str = "", passed: bool | None = None, instrument: str = "") -> None:
        self.call(at, who, "inspect", inspecting.Inspect(code_of(part), kind, readings, passed, instrument), f"{kind} {part}")

    def drop_test(self, at: int, who: str, part: str, mbar: int) -> None:
        self.test(at, who, part, "drop test", f"{mbar} mbar", instrument="VG-1")

    def hardness(self, at: int, part: str, mean: int) -> None:
        """Ten readings around a mean."""
        readings = " ".join(str(mean + d) for d in (-1, 1, -2, 3, 0, 2, -3, 1, 0, -1))
        self.test(at, "Odile", part, "hardness", readings, instrument="HT-1")

    def defect(self, at: int, part: str, defect: str, text: str = "") -> None:
        self.call(at, "Odile", "defect", inspecting.FoundDefect(code_of(part), defect, text), f"{part} {defect}")

    def join(self, at: int, who: str, component: str, assembly: str) -> None:
        self.call(at, who, "join", joining.Join(code_of(component), code_of(assembly)), f"{component} into {assembly}")

    def unjoin(self, at: int, who: str, component: str, place: str) -> None:
        self.call(at, who, "unjoin", joining.Unjoin(code_of(component), place), component)

    def ship(self, at: int, parts: Sequence[str], customer: str, note: str = "") -> None:
        name = self.yard.customer[customer].name
        params = shipping.Ship(code_of(parts[0]), name, tuple(code_of(n) for n in parts[1:]), note)
        self.call(at, "Ines", "ship", params, parts[0])


def minutes(n: float) -> int:
    return int(n * MINUTE_US)
