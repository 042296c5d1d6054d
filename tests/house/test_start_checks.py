"""Nothing serves a database whose records could be changed."""

import json
import subprocess
import sys
from io import StringIO
from pathlib import Path

import pytest
from django.contrib.auth import authenticate
from django.core.management import call_command
from django.db import connection
from django.http import HttpResponse
from django.test import RequestFactory
from pytest_django import Settings

from deploy import checks, csp
from deploy.environment import REPOSITORY
from deploy.schedule import SCHEDULE
from inventory.models import Site
from layups.demo.script import Script
from tests.unlocked import unlocked


@pytest.mark.django_db
def test_a_guarded_and_migrated_database_may_be_served() -> None:
    assert checks.unapplied(connection) == 0
    assert checks.ledger_is_guarded(None, ["default"]) == []
    checks.require_a_guarded_ledger()


@pytest.mark.django_db
def test_a_missing_trigger_stops_the_start_and_is_named(capsys: pytest.CaptureFixture[str]) -> None:
    with unlocked(connection):
        (found,) = checks.ledger_is_guarded(None, ["default"])
        assert "leg" in found.msg
        with pytest.raises(SystemExit) as refusal:
            checks.require_a_guarded_ledger()
    assert refusal.value.code == checks.BOOT_ERROR
    assert "not guarded" in capsys.readouterr().err


@pytest.mark.django_db
def test_a_database_that_lacks_migrations_stops_the_start(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setattr(checks, "unapplied", lambda connection: 2)
    with pytest.raises(SystemExit):
        checks.require_a_guarded_ledger()
    assert "lacks 2 migrations" in capsys.readouterr().err


@pytest.mark.core
@pytest.mark.parametrize("entry", ["import deploy.wsgi", "from deploy.celery import refuse_an_unguarded_ledger as r; r()"])
def test_web_and_queue_refuse_an_empty_database(entry: str, tmp_path: object) -> None:
    environ = {"SELVEDGE_HOME": str(tmp_path), "DJANGO_SETTINGS_MODULE": "deploy.settings"}
    code = f"import django; django.setup(); {entry}"
    done = subprocess.run([sys.executable, "-c", code], cwd=REPOSITORY, env=environ, capture_output=True, text=True)
    assert done.returncode == checks.BOOT_ERROR
    assert "run `manage.py migrate` first" in done.stderr


@pytest.mark.core
def test_worker_and_beat_ask_for_the_guard_before_they_start() -> None:
    from celery import signals

    from deploy.celery import refuse_an_unguarded_ledger

    for signal in (signals.worker_init, signals.beat_init):
        assert refuse_an_unguarded_ledger in [receiver() for _, receiver in signal.receivers]


@pytest.mark.core
def test_every_answer_carries_a_policy_without_inline_scripts() -> None:
    middleware = csp.ContentSecurityPolicyMiddleware(lambda request: HttpResponse("ok"))
    policy = middleware(RequestFactory().get("/")).headers[csp.HEADER]
    assert "default-src 'self'" in policy
    assert "unsafe" not in policy
    assert "frame-ancestors 'none'" in policy


@pytest.mark.core
def test_a_view_that_brings_its_own_policy_keeps_it() -> None:
    middleware = csp.ContentSecurityPolicyMiddleware(lambda request: HttpResponse("ok", headers={csp.HEADER: "default-src 'none'"}))
    assert middleware(RequestFactory().get("/")).headers[csp.HEADER] == "default-src 'none'"


@pytest.mark.core
def test_the_queue_of_every_thread_is_ours() -> None:
    """The current Celery app is thread-local; a request thread must not queue into an app without a broker."""
    import threading

    import celery

    from deploy.celery import app

    seen: list[object] = []
    thread = threading.Thread(target=lambda: seen.append(celery.current_app._get_current_object()))
    thread.start()
    thread.join()
    assert seen == [app]


@pytest.mark.core
def test_the_schedule_names_tasks_and_runs_in_utc() -> None:
    from deploy.celery import app

    assert {entry["task"] for entry in SCHEDULE.values()} >= {"inventory.tasks.sweep", "inventory.tasks.drain_outbox"}
    assert app.conf.timezone == "UTC"
    assert app.conf.enable_utc is True
    assert app.conf.beat_scheduler == "celery.beat:Scheduler"


@pytest.mark.django_db(transaction=True)
def test_a_demo_that_is_interrupted_leaves_nothing_and_is_begun_again(
    tmp_path: Path, settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.STATIC_ROOT = tmp_path

    def interrupted(script: object, until_us: int, tell: object = None) -> int:
        raise KeyboardInterrupt

    monkeypatch.setattr(Script, "run", interrupted)
    with pytest.raises(KeyboardInterrupt):
        call_command("prepare", stdout=StringIO())
    assert Site.objects.count() == 0


@pytest.mark.django_db(transaction=True)
def test_an_empty_shop_has_one_owner_whose_password_is_told_once(tmp_path: Path, settings: Settings) -> None:
    settings.STATIC_ROOT = tmp_path
    reports = []
    for _ in range(2):
        said = StringIO()
        call_command("prepare", "--empty", stdout=said)
        reports.append(json.loads(said.getvalue()))
    assert reports[0]["sign_ins"] == [["owner", "owner"]]
    assert reports[0]["demo"] is False
    assert authenticate(username="owner", password=reports[0]["password"]) is not None
    assert reports[1]["password"] == ""
