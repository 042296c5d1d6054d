"""The queue as it runs for real: beside the web with Redis, inside it without. What stands in the outbox gets done."""

import os
import signal
import urllib.request
from pathlib import Path

import pytest

from deploy.celery import app
from deploy.environment import REPOSITORY
from deploy.testing.starting import free_port
from inventory.clock import now_us
from inventory.models import Notice
from tests.house.processes import BEAT, WEB, WORKER, done, eventually, kill, mail_to_send, running, silent_mail_server


@pytest.fixture
def redis_url() -> str:
    """The Redis of this run; without one these tests say so instead of passing."""
    url = os.environ.get("SELVEDGE_TEST_REDIS_URL", "")
    if not url:
        pytest.fail("needs SELVEDGE_TEST_REDIS_URL; deploy/test Redis-and-a-worker starts one")
    with app.connection_for_write() as broker:
        broker.default_channel.queue_purge("celery")
    return url


@pytest.mark.redis_worker
@pytest.mark.django_db(transaction=True)
def test_a_task_queued_over_redis_is_done_by_a_worker_process(redis_url: str, tmp_path: Path) -> None:
    row = mail_to_send()
    with running(tmp_path, *WORKER, SELVEDGE_REDIS_URL=redis_url):
        app.send_task("inventory.tasks.drain_outbox")
        eventually(lambda: done(row), tmp_path)
    assert "Roll R1 ends tomorrow." in (tmp_path / "log").read_text()
    assert row.tries == 1


@pytest.mark.redis_worker
@pytest.mark.django_db(transaction=True)
def test_a_worker_killed_with_a_mail_in_hand_loses_nothing_and_the_next_one_sends_it(redis_url: str, tmp_path: Path) -> None:
    row = mail_to_send()
    with (
        silent_mail_server() as (port, called),
        running(tmp_path, *WORKER, SELVEDGE_REDIS_URL=redis_url, SELVEDGE_EMAIL=f"smtp://127.0.0.1:{port}?tls=0") as worker,
    ):
        app.send_task("inventory.tasks.drain_outbox")
        eventually(called.is_set, tmp_path)
        kill(worker)
    assert not done(row)
    assert row.tries == 1
    assert row.due_us > now_us(), "a row in hand is not handed out twice at once"
    # A minute later.
    row.due_us = now_us()
    row.save()
    with running(tmp_path, *WORKER, SELVEDGE_REDIS_URL=redis_url):
        app.send_task("inventory.tasks.drain_outbox")
        eventually(lambda: done(row), tmp_path)
    assert (tmp_path / "log").read_text().count("Roll R1 ends tomorrow.") == 1
    assert Notice.objects.count() == 1


@pytest.mark.redis_worker
@pytest.mark.django_db(transaction=True)
def test_beat_gets_the_outbox_drained_without_anybody_asking(redis_url: str, tmp_path: Path) -> None:
    row = mail_to_send()
    with running(tmp_path, *WORKER, SELVEDGE_REDIS_URL=redis_url), running(tmp_path, *BEAT, SELVEDGE_REDIS_URL=redis_url):
        eventually(lambda: done(row), tmp_path)


@pytest.mark.redis_worker
@pytest.mark.django_db(transaction=True)
def test_the_start_command_keeps_the_worker_alive_and_ends_all_three_on_ctrl_c(redis_url: str, tmp_path: Path) -> None:
    code = "import sys; from pathlib import Path; from deploy.setup.serve import Family; sys.exit(Family(Path(sys.executable)).run())"
    with running(tmp_path, "-c", code, SELVEDGE_REDIS_URL=redis_url, SELVEDGE_PORT=str(free_port())) as family:
        eventually(lambda: len(children(family.pid)) == 3, tmp_path)
        first = worker_of(family.pid)
        os.kill(first, signal.SIGKILL)
        eventually(lambda: worker_of(family.pid) not in (0, first), tmp_path)
        row = mail_to_send()
        eventually(lambda: done(row), tmp_path)
        started = list(children(family.pid))
        os.kill(family.pid, signal.SIGINT)
        assert family.wait(40) == 0
    assert [pid for pid in started if Path(f"/proc/{pid}").exists()] == []


def children(parent: int) -> dict[int, str]:
    """Process and command line of each child."""
    pids = Path(f"/proc/{parent}/task/{parent}/children").read_text().split()
    return {int(pid): Path(f"/proc/{pid}/cmdline").read_text().replace("\0", " ") for pid in pids}


def worker_of(parent: int) -> int:
    """The worker among the children; 0 when there is none."""
    return next((pid for pid, command in children(parent).items() if " worker " in command), 0)


@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
def test_without_redis_the_one_process_serves_pages_and_drains_the_outbox(tmp_path: Path) -> None:
    row = mail_to_send()
    port = str(free_port())

    def answers() -> bool:
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{port}/sign-in/", timeout=5) as page:
                return bool(page.status == 200)
        except OSError:
            return False

    # The pages want the gathered static files; the embedded queue does not, but a sign-in page without them would be a 500.
    with running(tmp_path, "manage.py", "collectstatic", "--noinput", "--verbosity", "0") as gathering:
        assert gathering.wait(60) == 0
    with running(tmp_path, *WEB, SELVEDGE_PORT=port, SELVEDGE_POOL="4"):
        eventually(answers, tmp_path)
        eventually(lambda: done(row), tmp_path)
    assert list(REPOSITORY.glob("celerybeat*")) == [], "the schedule is code and needs no file"
    log = (tmp_path / "log").read_text()
    assert "Roll R1 ends tomorrow." in log
    # A worker that starts in this process closes the connections that it finds in use; none may be the pool's.
    assert "closing returned connection" not in log
