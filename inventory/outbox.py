"""The outbox: what a job must still do stands in a table, so that a job lost with its process is done by the next one."""

from __future__ import annotations

import json
import logging
from collections.abc import Callable

from django.conf import settings
from django.core.mail import send_mail

from inventory import jobs, readers
from inventory.core.said import say, say_n
from inventory.core.spans import local_date
from inventory.core.vessel_text import stand_from
from inventory.models import Flag, ItemState, Leg, Notice, Outbox, Person, PotCurve, Recipe, Site
from inventory.reads import pots

log = logging.getLogger(__name__)
RETRY_US = 60_000_000
MAX_TRIES = 8


def drain(now_us: int, limit: int = 100) -> int:
    """Do what is due. A row that fails waits longer each time and keeps its error; nothing behind it is blocked."""
    done = 0
    due = Outbox.objects.filter(done_us__isnull=True, due_us__lte=now_us, tries__lt=MAX_TRIES).exclude(topic=jobs.TOPIC)
    for row in due.order_by("due_us", "pk")[:limit]:
        # Claimed by moving its due time: of two workers one gets the row, and a worker that dies gives it back.
        claimed = Outbox.objects.filter(pk=row.pk, done_us__isnull=True, due_us=row.due_us).update(
            due_us=now_us + RETRY_US * 2**row.tries, tries=row.tries + 1
        )
        if not claimed:
            continue
        try:
            TOPICS[row.topic.split(":")[0]](row, now_us)
        except Exception as error:  # a bad row must not stop the others; it keeps its error and is tried again
            log.exception("outbox row %s (%s) failed", row.pk, row.topic)
            Outbox.objects.filter(pk=row.pk).update(error=repr(error)[:500])
            continue
        Outbox.objects.filter(pk=row.pk).update(done_us=now_us, error="")
        done += 1
    return done


def draw_pot_curve(row: Outbox, now_us: int) -> None:
    """The pot-life picture of one mix: the window over temperatures around the bench's. Nothing decides by it."""
    leg = Leg.objects.select_related("act").get(item=row.ref, act__kind="mix")
    body = json.loads(leg.act.body)
    if body.get("temp_mc") is None:
        return  # a stop time that a person set has no curve
    recipe = Recipe.objects.select_related("resin", "hardener").get(code=body["recipe"])
    system = pots.pot_system(leg.act.site_id, recipe, leg.act.happened_us)
    batch = pots.Batch(leg.delta, body["temp_mc"], body["ratio_ppm"], stand_from(body.get("vessel")))
    points = pots.curve(system, batch)
    PotCurve.objects.update_or_create(item_id=row.ref, defaults={"points": json.dumps(points), "drawn_us": now_us})


def send_morning(row: Outbox, now_us: int) -> None:
    """The morning list of one person, once a day, in their language and units. Flags in it count as told."""
    person = Person.objects.select_related("site").get(pk=int(row.topic.split(":")[1]))
    roles = set(person.roles.values_list("role", flat=True))
    flags = list(Flag.objects.filter(site=person.site, withdrawn_us__isnull=True, role__in=roles).order_by("at_us", "pk"))
    if not person.email or person.ended_us is not None or not flags:
        return
    told = set(Notice.objects.filter(flag__in=flags, person=person).values_list("flag_id", flat=True))
    new = [f for f in flags if f.pk not in told]
    with readers.reading(person.language, person.units):  # who has chosen no language has no browser here to ask: English
        subject, text = morning_words(person, flags, {f.pk for f in new}, local_date(now_us, person.site.zone).isoformat())
    send_mail(subject, text, settings.DEFAULT_FROM_EMAIL, [person.email])
    Notice.objects.bulk_create([Notice(flag=f, person=person, sent_us=now_us) for f in new], ignore_conflicts=True)


def morning_words(person: Person, flags: list[Flag], new: set[int], day: str) -> tuple[str, str]:
    """Subject and text of the morning mail, as whoever reads now reads it. Flags are kept as text, so each is found again by its
    template; the text is not markup."""
    said = [readers.shown(f.text) for f in flags]
    lines = [readers.shown(say("New: {text}", text=text)) if f.pk in new else text for f, text in zip(flags, said, strict=True)]
    site = person.site.name
    greeting = readers.shown(say("Good morning, {person}. What needs you at {site} on {day}:", person=person.name, site=site, day=day))
    subject = readers.shown(say_n("{site}: {n} thing needs you", "{site}: {n} things need you", len(lines), site=site))
    return subject, greeting + "\n\n" + "".join(f"- {line}\n" for line in lines)


def queue_morning(site: Site, now_us: int) -> int:
    """One row for each person and local day; queuing twice makes no second one."""
    day = local_date(now_us, site.zone).toordinal()
    new = 0
    for person in Person.objects.filter(site=site, ended_us__isnull=True).exclude(email=""):
        _, made = Outbox.objects.get_or_create(topic=f"mail:{person.pk}", ref=day, defaults={"due_us": now_us})
        new += made
    return new


TOPICS: dict[str, Callable[[Outbox, int], None]] = {"pot_curve": draw_pot_curve, "mail": send_morning}


def waiting(now_us: int) -> dict[str, int]:
    """For the health page: what is due and what has given up."""
    due = Outbox.objects.filter(done_us__isnull=True, due_us__lte=now_us, tries__lt=MAX_TRIES).count()
    stuck = Outbox.objects.filter(done_us__isnull=True, tries__gte=MAX_TRIES).count()
    return {"due": due, "stuck": stuck, "items_due": ItemState.objects.filter(due_us__lte=now_us).count()}
