"""What the page of a cure run shows: its parts, the stages, where the chart offends, and what to put right."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest
from django.urls import reverse
from django.utils.html import format_html

from inventory.core.said import say, say_as, strung
from inventory.core.spans import duration, local
from inventory.core.temperature import display_celsius
from inventory.pages.door import Shop
from inventory.pages.ways import may, to
from inventory.templatetags import words as said
from inventory.templatetags.tables import Column
from layups.core.cure import PASSES
from layups.core.cure_chart import sentence
from layups.reads.charts import Differs
from layups.reads.runs import MISSING, Drawn, PartIn, Record, RunPage, drawn

from . import curedrawing, words

PARTS = (
    Column(say("Part"), lead=True),
    Column(say("Chart")),
    Column(say("Recipe")),
    Column(say("Heating began")),
    Column(say("By the chart")),
)
STAGES = (
    Column(say("Stage"), lead=True),
    Column(say("Asked")),
    Column(say("Verdict")),
    Column(say("From")),
    Column(say("Until")),
    Column(say_as("a dwell", "Held"), num=True),
)
OFFENCES = (
    Column(say("No."), lead=True),
    Column(say("Stage")),
    Column(say("What")),
    Column(say("From")),
    Column(say("Until")),
    Column(say("In words"), wide=True),
)
THERMO = (
    Column(say("Thermocouple"), lead=True),
    Column(say("Readings"), num=True),
    Column(say("Peak"), num=True),
    Column(say("From")),
    Column(say("Until")),
    Column(say("Not read"), num=True),
)
FILES = (
    Column(say("File"), lead=True),
    Column(say("Verdict")),
    Column(say("Counts for")),
    Column(say("By")),
    Column(say("When")),
    Column(say("Then")),
)


def chart_word(verdict: str) -> str:
    """The state's word for a verdict."""
    return {PASSES: "passed", "fails": "failed", MISSING: "missing"}.get(verdict, "unknown")


def context_of(request: HttpRequest, found: RunPage, url: str) -> dict[str, Any]:
    shop: Shop = request.shop  # type: ignore[attr-defined]
    record, chosen = _chosen(request, found)
    shown = drawn(record.act, chosen.part) if record is not None and chosen is not None else None
    return {
        "run": found,
        "place": found.run.location.name if found.run is not None else "",
        "state": words.state(chart_word(found.verdict)) if found.verdict else "",
        "columns": PARTS,
        "parts": [part_cells(p, url, shop) for p in found.parts],
        "differs": [differs_words(d, found.number, shop, url) for d in found.differs],
        "file_columns": FILES,
        "files": [file_cells(r, url, shop) for r in found.records],
        "chosen": chosen.part.number if chosen is not None else "",
        "record": record,
        **(_shown(shown, record, shop) if shown is not None and record is not None else {}),
    }


def _chosen(request: HttpRequest, found: RunPage) -> tuple[Record | None, PartIn | None]:
    """The chart and the part that the address names; else the newest that counts, of the part that is worst off."""
    by_part = [p for p in found.parts if p.chart is not None]
    part = next((p for p in found.parts if p.part.number == request.GET.get("part")), None)
    record = next((r for r in found.records if str(r.act.pk) == request.GET.get("chart")), None)
    if record is not None:
        judged = record.body["verdicts"]
        part = part if part is not None and part.part.number in judged else next((p for p in found.parts if p.part.number in judged), None)
        return record, part
    if part is None or part.chart is None:
        part = min(by_part, key=lambda p: ("fails", say("cannot tell"), PASSES).index(p.verdict), default=None)
    wanted = part.chart.act_id if part is not None and part.chart is not None else None
    return next((r for r in found.records if r.act.pk == wanted), None), part


def _shown(shown: Drawn, record: Record, shop: Shop) -> dict[str, Any]:
    doc = shown.doc
    marks = curedrawing.marks_of(doc)
    return {
        "says": sentence(doc) if doc else "",
        "day_us": day_of(doc),
        "picture": curedrawing.picture(doc, shown.traces, shop.zone) if doc else "",
        "why_not": shown.why,
        "recipe": doc.get("recipe", ()),
        "stage_columns": (*STAGES, *(Column(t["name"]) for t in doc.get("thermocouples", ())[:8])),
        "stages": [stage_cells(s, doc, shop) for s in doc.get("stages", ())],
        "offence_columns": OFFENCES,
        "offences": [cells for mark in marks for cells in offence_cells(mark, doc, shop)],
        "thermo_columns": THERMO,
        "thermo": [thermo_cells(t, day_of(doc), shop) for t in doc.get("thermocouples", ())],
        "cured": cured_words(doc.get("cured", {})),
        "conversion": curedrawing.conversion(shown.along, shop.zone),
        "uncalibrated": record.body["uncalibrated"],
        "notes": record.body["notes"],
        "left": record.body["left"],
        "without": record.body["without"],
    }


def part_cells(p: PartIn, url: str, shop: Shop) -> list[Any]:
    recipe = p.doc.get("recipe")
    asked = say("{recipe} v{recipe_2}", recipe=recipe[0], recipe_2=recipe[1]) if recipe else str(p.part.design.cure_recipe or "")
    began = second(p.start.happened_us, shop) if p.start is not None else say("not on record")
    chart = second(p.doc.get("heated_us"), shop) if p.doc.get("heated_us") is not None else say("never heated to its band") if p.doc else ""
    verdict: Any = words.state(chart_word(p.verdict)) if p.verdict else say("none asked for")
    if p.chart is not None:
        verdict = said.html_say('{verdict} <a href="{url}?part={part}">Show it</a>', verdict=verdict, url=url, part=p.part.number)
    return [words.part_link(p.part.number, p.part.item.code), verdict, asked or say_as("a recipe", "none"), began, chart]


def second(us: int | None, shop: Shop, day_us: int | None = None) -> Any:
    """To the second, on the shop's clock; without the day where that is the day of `day_us`."""
    if us is None:
        return ""
    moment = local(us, shop.zone)
    day = "" if day_us is not None and local(day_us, shop.zone).date() == moment.date() else say("{moment} ", moment=f"{moment:%d %b}")
    return format_html('<time datetime="{}" class="when">{}{}</time>', moment.isoformat(timespec="seconds"), day, f"{moment:%H:%M:%S}")


def differs_words(d: Differs, number: str, shop: Shop, url: str) -> dict[str, Any]:
    """What the chart says against the record, and the two steps that put it right: void it, and tell when it began."""
    at, later = local(d.chart_us, shop.zone), d.later_us
    began = say("{part}: by the chart heating began at {at} on {at_2}", part=d.part.number, at=f"{at:%H:%M:%S}", at_2=f"{at:%d %b}")
    if later is None:
        text = say("{began}, and no start of cure is on record.", began=began)
    elif later > 0:
        text = say(
            "{began}, {later} later than the record says. Out time ran until then and is counted too short.",
            began=began,
            later=duration(later),
        )
    else:
        text = say(
            "{began}, {later} earlier than the record says. Out time is counted longer than it ran.", began=began, later=duration(-later)
        )
    query = {"run": number, "parts": d.part.number, "already": "1", "happened_at": f"{at:%Y-%m-%dT%H:%M:%S}", "next": url}
    query["why_late"] = say("by the chart of run {number}", number=number) if number else say("by its chart")
    void = to("decide", "void", record=d.start.pk, next=url) if d.start is not None and may(shop, "void") else ""
    tell = to("do", "cure_on", **query) if may(shop, "cure_on") else ""
    return {"text": text, "void": void, "tell": tell, "start": d.start}


def stage_cells(s: dict[str, Any], doc: dict[str, Any], shop: Shop) -> list[Any]:
    span = s["span"]
    each = [words.state(chart_word(s["each"].get(t["name"], PASSES))) for t in doc["thermocouples"][:8]]
    day = day_of(doc)
    ends = [second(span[0], shop, day), second(span[1], shop, day), exact(span[1] - span[0])] if span else ["–", "–", "–"]
    return [s["name"], asked_lines(s["asked"]), words.state(chart_word(s["verdict"])), *ends, *each]


def asked_lines(asked: str) -> Any:
    """What is asked of a stage in two short lines: what, and for how long or over which window."""
    for word in (" for ", " over "):
        head, found, tail = asked.partition(word)
        if found:
            return format_html('<span class="nb">{}</span><br><span class="nb">{}{}</span>', head, found.lstrip(), tail)
    return asked


def offence_cells(mark: curedrawing.Mark, doc: dict[str, Any], shop: Shop) -> list[list[Any]]:
    """A row for each stretch, so that every instant is exact."""
    o = mark.offence
    what = say("{word} {thermocouple}", word=o["word"], thermocouple=o["thermocouple"]).strip()
    spans, day = o["spans"] or [None], day_of(doc)
    rows = [
        [
            str(mark.number),
            mark.stage,
            what,
            *([second(s[0], shop, day), second(s[1], shop, day)] if s else ["–", "–"]),
            o["text"] if not n else "",
        ]
        for n, s in enumerate(spans)
    ]
    if o["count"] > len(o["spans"]):
        rows.append([str(mark.number), mark.stage, what, "", "", say("and {count} more stretches", count=o["count"] - len(o["spans"]))])
    return rows


def day_of(doc: dict[str, Any]) -> int | None:
    """The instant at which the chart began: its day goes without saying."""
    return min((t["from_us"] for t in doc.get("thermocouples", ())), default=None)


def thermo_cells(t: dict[str, Any], day: int | None, shop: Shop) -> list[Any]:
    unread = exact(t["unread_us"]) if t["unread_us"] else "–"
    return [
        t["name"],
        str(t["readings"]),
        display_celsius(t["peak_mc"]),
        second(t["from_us"], shop, day),
        second(t["until_us"], shop, day),
        unread,
    ]


def exact(us: int) -> str:
    minutes, seconds = divmod(us // 1_000_000, 60)
    hours, minutes = divmod(minutes, 60)
    return (
        say("{hours} h {minutes} min {seconds} s", hours=hours, minutes=f"{minutes:02d}", seconds=f"{seconds:02d}")
        if hours
        else say("{minutes} min {seconds} s", minutes=minutes, seconds=f"{seconds:02d}")
    )


def cured_words(cured: dict[str, Any]) -> dict[str, Any]:
    if not cured or "none" in cured:
        return {"none": cured.get("none", "")}
    lines = []
    for name, words_ in (("lagging", say("where it was coldest")), ("leading", say("where it was hottest"))):
        if found := cured.get(name):
            glass = (
                say(", glass temperature {glass}", glass=display_celsius(round(found["glass_mc"], -2)))
                if found["glass_mc"] is not None
                else ""
            )
            lines.append((words_, say("{ppm} %{glass}", ppm=f"{found['ppm'] / 10000:.1f}", glass=glass)))
    return {"lines": lines, "by": cured["by"], "of": cured["of"], "reasons": cured["reasons"]}


def file_cells(r: Record, url: str, shop: Shop) -> list[Any]:
    name: Any = r.body["file"][1]
    if r.file is not None:
        name = format_html('<a href="{}">{}</a>', reverse("attachment", args=[r.file.pk]), name)
    state = words.state("void", r.void.reason) if r.void is not None else words.state(chart_word(r.body["verdict"]))
    counts = strung(", ", r.counts_for) if r.counts_for else say("nothing") if r.void is not None else say("nothing: a newer one counts")
    ways = said.html_say(
        '<a href="{url}?chart={number}">Show it</a> <a href="{record}">Record {number}</a>',
        url=url,
        number=r.act.pk,
        record=to("record", r.act.pk),
    )
    return [name, state, counts, r.act.person.name, said.instant(r.act.happened_us, shop.zone, shop.now_us), ways]
