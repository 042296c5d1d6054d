"""Rules about the repository itself."""

import re
import subprocess

import pytest
from django.apps import apps
from django.db import models
from importlinter.cli import lint_imports

from tests.house.tree import APPS, ROOT, calls, files, imports, text, under

pytestmark = pytest.mark.core

TOP = {"README.md", "DEVELOPERS.md", "manage.py", "requirements.txt", "inventory", "layups", "api", "tests", "deploy"}
LONGEST = 400
CLOCKS = {
    "time.time", "time.time_ns", "datetime.now", "datetime.utcnow", "datetime.today", "date.today", "datetime.datetime.now",
    "datetime.datetime.utcnow", "datetime.datetime.today", "datetime.date.today", "timezone.now", "timezone.localdate",
    "timezone.localtime",
}  # fmt: skip
# Pages, views of the machine interface, tasks and commands read the clock, once a request, and hand it down.
EDGES = re.compile(r"^(inventory|layups)/(pages/|tasks\.py|management/|admin)|^api/|^deploy/|^tests/")


def test_the_files_of_the_project_are_known_to_git() -> None:
    assert len(files()) > 100, "the other rules would hold for nothing"


def test_the_top_level_holds_what_is_on_the_card_and_dotfiles() -> None:
    top = {name.split("/")[0] for name in files()}
    assert {name for name in top if not name.startswith(".")} <= TOP


def test_no_file_is_longer_than_four_hundred_lines() -> None:
    written = [
        name for name in files() if name.endswith((".py", ".html", ".css", ".js")) and "/migrations/" not in name and "/vendor/" not in name
    ]
    lengths = {name: text(name).count("\n") for name in written}
    assert {name: length for name, length in lengths.items() if length > LONGEST} == {}


def test_the_clock_is_read_in_one_place() -> None:
    reading = [
        f"{name}:{line} {call}"
        for name in under(*APPS)
        if name != "inventory/clock.py"
        for line, call in [*calls(name), *((line, ".".join(item.split(".")[-2:])) for line, item in imports(name))]
        if call in CLOCKS
    ]
    assert reading == []


def test_only_the_edges_ask_for_the_time() -> None:
    asking = [
        f"{name}:{line}"
        for name in under(*APPS)
        if not EDGES.match(name)
        for line, item in imports(name)
        if item.endswith(("clock.now_us", "inventory.clock"))
    ]
    assert asking == []


def test_nothing_but_the_guard_and_the_tests_takes_a_trigger_down() -> None:
    dropping = re.compile(r"drop\s+trigger|disable\s+trigger|session_replication_role|writable_schema", re.IGNORECASE)
    allowed = re.compile(r"^tests/|^inventory/ledger_guard\.py$|^(inventory|layups)/migrations/|\.md$")
    found = [
        name
        for name in files()
        if not allowed.match(name) and name.endswith((".py", ".sql", ".sh", ".html")) and dropping.search(text(name))
    ]
    assert found == []


def test_no_record_goes_when_another_goes() -> None:
    """Deleting one row never deletes another: the database and its triggers would be walked round."""
    soft = []
    for label in ("inventory", "layups"):
        for model in apps.get_app_config(label).get_models(include_auto_created=False):
            for field in model._meta.local_fields:
                if isinstance(field, models.ForeignKey) and field.remote_field.on_delete not in (models.PROTECT, models.RESTRICT):
                    soft.append(str(field))
    assert soft == []


def test_imports_go_one_way_and_the_cores_stay_pure() -> None:
    assert lint_imports(config_filename=str(ROOT / ".importlinter"), no_cache=True) == 0


def test_no_page_carries_a_script_or_a_style_of_its_own() -> None:
    """The policy of the service forbids both, so a browser would ignore them."""
    inline = re.compile(r"<style|\sstyle=|<script(?![^>]*\ssrc=)(?![^>]*type=.application/json)|\son[a-z]+=|javascript:", re.IGNORECASE)
    pages = {name: re.sub(r"\{%.*?%\}|\{\{.*?\}\}", "", text(name), flags=re.DOTALL) for name in under(*APPS, suffix=".html")}
    found = {name: hit[0] for name, page in pages.items() if (hit := inline.search(page))}
    assert found == {}


def test_no_screen_calls_a_hardener_by_the_wrong_name() -> None:
    """Trade language: a peroxide is not a catalyst, and the word invites the wrong ratio. Common practice, no source."""
    found = [
        name for ending in (".html", ".js") for name in under("inventory", "layups", suffix=ending) if "catalyst" in text(name).lower()
    ]
    assert found == []


def test_every_test_is_named_as_a_sentence() -> None:
    short = [
        f"{name}: {found}"
        for name in under("tests")
        for found in re.findall(r"^\s*def (test_\w+)", text(name), re.MULTILINE)
        if found.count("_") < 3
    ]
    assert short == []


def test_the_commands_can_be_run_from_a_fresh_clone() -> None:
    """The executable bit lives in git; without it a clone has files that only sh can run."""
    listed = subprocess.run(["git", "ls-files", "-s", "deploy/start", "deploy/test", ".ci/run"], cwd=ROOT, capture_output=True, text=True)
    assert [line.split()[0] for line in listed.stdout.splitlines()] == ["100755"] * 3


def test_the_project_names_no_place_outside_itself() -> None:
    """Paths of somebody's machine and hosts of package registries do not belong in files that others run."""
    outside = re.compile(r"(?<![\w.])/(work|home|root)/|pypi\.org|pythonhosted|registry\.npmjs|/tmp/sv")
    allowed = "tests/house/test_house_rules.py"
    found = {
        name: hit[0]
        for name in files()
        if name != allowed and not name.endswith((".png", ".woff2", ".ico")) and (hit := outside.search(text(name)))
    }
    assert found == {}
