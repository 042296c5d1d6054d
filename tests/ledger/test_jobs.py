"""Long work as jobs: progress, result, cancelling, and a process that dies in the middle."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from typing import Any

import pytest

from inventory import jobs, outbox
from inventory.core.reasons import BadInput, Refused
from inventory.models import Flag, Job, Outbox
from tests.ledger.bench import Bench

pytestmark = pytest.mark.django_db
STEPS = 40


class Power(BaseException):
    """The process is gone: nothing of it is done any more."""


class Clock:
    """Half a second passes each time somebody looks."""

    def __init__(self, now_us: int) -> None:
        self.now = now_us

    def __call__(self) -> int:
        self.now += 500_000
        return self.now


@pytest.fixture
def bench() -> Bench:
    return Bench()


@pytest.fixture
def counting(bench: Bench) -> Iterator[dict[str, Any]]:
    """A kind of job that counts to forty, and may be told to die, to fail or to do something at a step. Its result is a flag."""
    told: dict[str, Any] = {"at": None, "do": None, "begun": 0}

    def work(job: Job, tell: jobs.Tell) -> jobs.Finish:
        told["begun"] += 1
        for n in range(STEPS):
            if n == told["at"]:
                told["do"](job)
            tell(n, STEPS)

        def finish() -> dict[str, Any]:
            made = Flag.objects.create(
                site=bench.yard.site, subject=f"job:{job.pk}", code="counted", role="owner", text="x", at_us=told["begun"], raised_us=1
            )
            if told["at"] == "end":
                told["do"](job)
            return {"flag": made.pk}

        return finish

    jobs.KINDS["counting"] = work
    yield told
    del jobs.KINDS["counting"]


def ask(bench: Bench, key: str = "one", params: dict[str, Any] | None = None) -> Job:
    return jobs.ask("counting", "count", params or {}, bench.yard.who("Ines"), uuid.uuid5(uuid.NAMESPACE_OID, key), bench.now_us)[0]


def stop(error: type[BaseException]) -> Any:
    def now(job: Job) -> None:
        raise error

    return now


def test_a_job_is_worked_once_and_leaves_its_result(bench: Bench, counting: dict[str, Any]) -> None:
    job, clock = ask(bench), Clock(bench.now_us)
    assert jobs.run_due(clock) == 1
    assert jobs.run_due(clock) == 0
    job.refresh_from_db()
    assert (job.state, job.total, counting["begun"]) == ("done", STEPS, 1)
    assert jobs.result_of(job) == {"flag": Flag.objects.get().pk}
    assert job.ended_us and job.started_us and job.started_us < job.ended_us


def test_the_same_key_asks_once_and_for_something_else_it_is_refused(bench: Bench, counting: dict[str, Any]) -> None:
    assert ask(bench).pk == ask(bench).pk
    assert Outbox.objects.filter(topic="job").count() == 1
    with pytest.raises(Refused) as caught:
        ask(bench, params={"to": 50})
    assert caught.value.reasons[0].code == "key.reused"


@pytest.mark.parametrize("step", [0, 1, 17, STEPS - 1, "end"])
def test_a_process_that_dies_in_the_middle_loses_nothing_and_doubles_nothing(bench: Bench, counting: dict[str, Any], step: Any) -> None:
    job, clock = ask(bench), Clock(bench.now_us)
    counting |= {"at": step, "do": stop(Power)}
    with pytest.raises(Power):
        jobs.run_due(clock)
    job.refresh_from_db()
    assert job.state == "running" and Flag.objects.count() == 0
    counting["at"] = None
    assert jobs.run_due(clock) == 0, "nobody else may take it yet"
    clock.now += 2 * jobs.LEASE_US
    assert jobs.run_due(clock) == 1
    job.refresh_from_db()
    assert job.state == "done" and Flag.objects.count() == 1


def test_a_lease_keeps_others_away_until_it_runs_out(bench: Bench, counting: dict[str, Any]) -> None:
    job, clock = ask(bench), Clock(bench.now_us)
    others: list[int] = []
    counting |= {"at": 20, "do": lambda job: others.append(jobs.run_due(Clock(clock.now)))}
    assert jobs.run_due(clock) == 1
    assert others == [0], "while it shows signs of life nobody else begins it"
    assert counting["begun"] == 1
    job.refresh_from_db()
    assert job.state == "done"


def test_who_lost_the_lease_writes_nothing_more(bench: Bench, counting: dict[str, Any]) -> None:
    """A process that slept for an hour wakes up: the job is another's by then, and done."""
    job, clock = ask(bench), Clock(bench.now_us)

    def sleep(job: Job) -> None:
        counting["at"] = None
        assert jobs.run_due(Clock(clock.now + 3_600_000_000)) == 1

    counting |= {"at": 20, "do": sleep}
    assert jobs.run_due(clock) == 0
    assert counting["begun"] == 2 and Flag.objects.count() == 1
    job.refresh_from_db()
    assert job.state == "done"


def test_a_job_that_kills_its_process_is_given_up(bench: Bench, counting: dict[str, Any]) -> None:
    job, clock = ask(bench), Clock(bench.now_us)
    counting |= {"at": 5, "do": stop(Power)}
    for _ in range(jobs.MOST_TRIES):
        with pytest.raises(Power):
            jobs.run_due(clock)
        clock.now += 2 * jobs.LEASE_US
    assert jobs.run_due(clock) == 1
    job.refresh_from_db()
    assert job.state == "failed" and "never came to its end" in job.error
    assert counting["begun"] == jobs.MOST_TRIES
    assert jobs.run_due(Clock(clock.now + 10 * jobs.LEASE_US)) == 0


def test_what_was_not_understood_is_told_and_not_tried_again(bench: Bench, counting: dict[str, Any]) -> None:
    job, clock = ask(bench), Clock(bench.now_us)

    def bad(job: Job) -> None:
        raise BadInput("count.wrong", "Count again.", "file")

    counting |= {"at": 3, "do": bad}
    assert jobs.run_due(clock) == 1
    job.refresh_from_db()
    assert (job.state, job.error, jobs.result_of(job)) == ("failed", "Count again.", {"code": "count.wrong", "where": "file"})
    assert jobs.run_due(Clock(clock.now + 10 * jobs.LEASE_US)) == 0


def test_a_database_that_was_away_is_tried_again(bench: Bench, counting: dict[str, Any]) -> None:
    job, clock = ask(bench), Clock(bench.now_us)
    counting |= {"at": 3, "do": stop(OSError)}
    assert jobs.run_due(clock) == 0
    counting["at"] = None
    clock.now += 2 * jobs.RETRY_US
    assert jobs.run_due(clock) == 1
    job.refresh_from_db()
    assert job.state == "done"


def test_a_job_that_waits_is_cancelled_at_once_and_never_begun(bench: Bench, counting: dict[str, Any]) -> None:
    job = ask(bench)
    jobs.cancel(job, bench.yard.who("Ines").person, bench.now_us)
    assert jobs.run_due(Clock(bench.now_us)) == 1
    job.refresh_from_db()
    assert job.state == "cancelled" and counting["begun"] == 0
    assert jobs.run_due(Clock(bench.now_us)) == 0


@pytest.mark.parametrize("step", [5, "end"])
def test_a_job_that_runs_stops_and_keeps_nothing(bench: Bench, counting: dict[str, Any], step: Any) -> None:
    job, clock = ask(bench), Clock(bench.now_us)
    ines = bench.yard.who("Ines").person

    def press(running: Job) -> None:
        assert "stops at its next step" in jobs.cancel(Job.objects.get(pk=running.pk), ines, clock())

    counting |= {"at": 39 if step == "end" else step, "do": press}
    assert jobs.run_due(clock) == 1
    job.refresh_from_db()
    assert job.state == "cancelled" and Flag.objects.count() == 0


def test_who_asked_quality_and_the_owner_may_stop_it_and_nobody_else(bench: Bench, counting: dict[str, Any]) -> None:
    job = ask(bench)
    person = {name: bench.yard.who(name).person for name in ("Ines", "Bram", "Odile", "Marek", "Vera")}
    may = {name for name, pk in person.items() if jobs.may_stop(job, pk)}
    sees = {name for name, pk in person.items() if jobs.seen_by(job.site_id, pk).exists()}
    assert may == {"Ines", "Odile", "Marek"}
    assert sees == {"Ines", "Odile", "Marek", "Vera"}, "the auditor reads everything"
    with pytest.raises(Refused) as caught:
        jobs.cancel(job, person["Bram"], bench.now_us)
    assert caught.value.reasons[0].code == "job.not_yours"


def test_the_outbox_leaves_jobs_to_those_who_work_them(bench: Bench, counting: dict[str, Any]) -> None:
    ask(bench)
    assert outbox.drain(bench.now_us) == 0
    assert Outbox.objects.get(topic="job").tries == 0
