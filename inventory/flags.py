"""Flags: something that somebody should look at, dated by the instant that it became so, told once (R13, jobs)."""

from __future__ import annotations

from inventory.models import Flag


def raise_flag(site: int, subject: str, code: str, role: str, text: str, at_us: int, now_us: int, item: int | None = None) -> bool:
    """Raise a flag unless it stands already. True when it is new. Running twice, late or in parallel changes nothing:
    the database keeps one row for each subject, code and instant."""
    _, new = Flag.objects.get_or_create(
        site_id=site,
        subject=subject,
        code=code,
        at_us=at_us,
        defaults={"role": role, "text": text, "raised_us": now_us, "item_id": item},
    )
    return new
