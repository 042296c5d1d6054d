"""manage.py badge: a badge that can be printed, is read back from its picture, and names its person from then on."""

import hashlib
import re
from io import StringIO
from pathlib import Path

import numpy
import pytest
import zxingcpp
from django.core.management import CommandError, call_command

from inventory.core import codes
from inventory.models import Person, Site

pytestmark = pytest.mark.django_db


def made(*words: str) -> str:
    said = StringIO()
    call_command("badge", *words, stdout=said, stderr=StringIO())
    return said.getvalue().strip()


def digest(code: str) -> str:
    return hashlib.sha256(code.encode()).hexdigest()


def test_a_badge_names_its_person_and_ends_the_one_before(tmp_path: Path) -> None:
    """The picture is drawn anew from its SVG and read with zxing-cpp, which made the modules: what is checked is our drawing."""
    tove = Person.objects.create(site=Site.objects.create(code="YARD", name="Yard"), name="Tove")
    first, second = made("Tove"), made("Tove", "--svg", str(tmp_path / "tove.svg"))
    assert first != second and codes.normalise(second).on == "person"
    tove.refresh_from_db()
    assert tove.badge_sha256 == digest(second)
    picture = (tmp_path / "tove.svg").read_text(encoding="utf-8")
    size = int(re.search(r'viewBox="0 0 (\d+) ', picture)[1])  # type: ignore[index]
    image = numpy.full((size, size), 255, dtype=numpy.uint8)
    for x, y in re.findall(r"M(\d+) (\d+)h1v1h-1z", picture):
        image[int(y), int(x)] = 0
    read = zxingcpp.read_barcode(image.repeat(4, axis=0).repeat(4, axis=1))
    assert read is not None and read.text == second


def test_nobody_and_a_file_that_cannot_be_written_change_nothing(tmp_path: Path) -> None:
    tove = Person.objects.create(site=Site.objects.create(code="YARD", name="Yard"), name="Tove")
    had = digest(made("Tove"))
    with pytest.raises(CommandError, match="not exactly one person named Bo"):
        made("Bo")
    with pytest.raises(CommandError, match="Nothing was changed"):
        made("Tove", "--svg", str(tmp_path / "missing" / "tove.svg"))
    tove.refresh_from_db()
    assert tove.badge_sha256 == had
