"""deploy/start, piece by piece: what stands in the way is a sentence, and nothing is left half-made."""

import hashlib
import os
import socket
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from deploy import environment
from deploy.bootstrap import arguments
from deploy.setup import packages, places, shop
from deploy.setup.words import Stop
from deploy.testing import static
from deploy.testing.legs import Bench, Counts, DidNotRun, Leg

pytestmark = pytest.mark.core
ROOT = environment.REPOSITORY


def settings(**values: str) -> environment.Environment:
    return environment.read({f"SELVEDGE_{name.upper()}": value for name, value in values.items()})


def test_a_busy_port_is_named_with_the_variable_that_changes_it() -> None:
    with socket.socket() as busy:
        busy.bind(("127.0.0.1", 0))
        busy.listen()
        with pytest.raises(Stop, match=r"port \d+ on 127\.0\.0\.1 is in use by another program\. Set SELVEDGE_PORT"):
            places.port_is_free(settings(port=str(busy.getsockname()[1])))


def test_an_address_that_is_not_this_machine_is_named() -> None:
    with pytest.raises(Stop, match=r"cannot listen on 192\.0\.2\.1"):
        places.port_is_free(settings(bind="192.0.2.1"))


def test_a_folder_that_cannot_be_written_is_named_with_its_variable(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(Stop, match=r"cannot write in .*file/home: Not a directory\. Set SELVEDGE_HOME"):
        places.writable(tmp_path / "file" / "home", "SELVEDGE_HOME")


def test_a_second_start_says_where_the_first_one_serves(tmp_path: Path) -> None:
    env = settings(home=str(tmp_path))
    lock = places.start_lock(env)
    with pytest.raises(Stop, match="being set up"):
        places.start_lock(env)
    places.tell_where(lock, "http://localhost:8123/")
    with pytest.raises(Stop, match="serves at http://localhost:8123/"):
        places.start_lock(env)
    os.close(lock)
    os.close(places.start_lock(env))


def test_the_lock_passes_to_the_program_that_this_process_becomes(tmp_path: Path) -> None:
    """The server takes the place of the command by exec; the home stays locked until the server is gone."""
    code = (
        "import os, sys; from deploy import environment; from deploy.setup import places;"
        f"env = environment.read({{'SELVEDGE_HOME': {str(tmp_path)!r}}});"
        "places.tell_where(places.start_lock(env), 'http://localhost:1/');"
        "os.execv('/bin/sh', ['sh', '-c', 'echo ready; read line'])"
    )
    server = subprocess.Popen([sys.executable, "-c", code], cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    assert server.stdout is not None
    assert server.stdout.readline() == "ready\n"
    with pytest.raises(Stop, match="already started"):
        places.start_lock(settings(home=str(tmp_path)))
    server.communicate("\n", timeout=10)
    os.close(places.start_lock(settings(home=str(tmp_path))))


def test_an_environment_copied_from_elsewhere_is_not_used(tmp_path: Path) -> None:
    assert not packages.usable(tmp_path / "nothing")
    here = Path(sys.prefix)
    assert packages.usable(here)
    (tmp_path / "copy").symlink_to(here / "bin")
    (tmp_path / "venv").mkdir()
    (tmp_path / "venv" / "bin").symlink_to(here / "bin")
    assert not packages.usable(tmp_path / "venv")


def test_a_folder_of_somebody_else_is_not_replaced_by_an_environment(tmp_path: Path) -> None:
    (tmp_path / "letters.txt").write_text("keep me")
    with pytest.raises(Stop, match="is not a virtual environment that works here"):
        packages._make(tmp_path)
    assert (tmp_path / "letters.txt").read_text() == "keep me"


def test_when_no_way_works_the_package_to_install_is_named_and_nothing_is_left(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for way in ("_with_venv", "_with_bare_venv", "_with_virtualenv", "_with_apt"):
        monkeypatch.setattr(packages, way, lambda venv: (venv / "half-made").touch())
    with pytest.raises(Stop, match=r"Install python3\.\d+-venv"):
        packages._make(tmp_path / "venv")
    assert not (tmp_path / "venv").exists()


def test_the_embedded_database_lies_in_the_home_unless_an_address_says_otherwise(tmp_path: Path) -> None:
    assert shop.sqlite_file(settings(home=str(tmp_path))) == tmp_path / "selvedge.sqlite3"
    assert shop.sqlite_file(settings(database_url="sqlite:///srv/my%20shop.db")) == Path("/srv/my shop.db")
    assert shop.sqlite_file(settings(database_url="postgresql://db/shop")) is None


def test_a_redis_that_does_not_answer_is_named(tmp_path: Path) -> None:
    with pytest.raises(Stop, match="no Redis answers at SELVEDGE_REDIS_URL"):
        shop.redis_answers(f"redis+socket://{tmp_path}/none")


def test_an_option_that_start_does_not_know_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as refusal:
        arguments(["--onec"])
    assert refusal.value.code == 2
    assert "unrecognized arguments: --onec" in capsys.readouterr().err


def test_the_locks_were_made_from_their_lists_and_name_no_index() -> None:
    assert static.lock_complaints(ROOT / "requirements.txt", ROOT / "deploy" / "requirements.in") == []
    assert static.lock_complaints(ROOT / "tests" / "requirements.txt", ROOT / "tests" / "requirements.in") == []
    assert static.lock_complaints(ROOT / "deploy" / "npm.txt", ROOT / "deploy" / "npm.in") == []


def test_a_stale_unhashed_or_addressed_lock_is_complained_about(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(static, "REPOSITORY", tmp_path)
    (tmp_path / "wishes.in").write_text("django\n")
    stamp = hashlib.sha256(b"django\n").hexdigest()
    good = f"django==5.2.1 \\\n    --hash=sha256:{'0' * 64}\n# wishes: sha256:{stamp}\n"
    for text, complaint in (
        (good, None),
        (good.replace(stamp, "0" * 64), "was not made from"),
        (good.replace("--hash=sha256:", "--hash=md5:"), "has no hash for django"),
        ("--index-url http://mirror/simple\n" + good, "names an index"),
    ):
        (tmp_path / "lock.txt").write_text(text)
        found = static.lock_complaints(tmp_path / "lock.txt", tmp_path / "wishes.in")
        assert (complaint is None) == (not found)
        assert complaint is None or complaint in found[0]


def bench(tmp_path: Path) -> Bench:
    return Bench(Path(sys.executable), tmp_path, tmp_path)


def shell(script: str) -> Callable[[Bench, Leg], None]:
    def run(bench: Bench, leg: Leg) -> None:
        bench.command(leg, ["sh", "-c", script])

    return run


def outcome(tmp_path: Path, leg: Leg) -> tuple[str, Counts]:
    table = bench(tmp_path)
    table.one(leg)
    return table.results[leg.name]


def test_a_leg_that_fails_counts_as_one_failure_and_shows_its_output(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    how, counts = outcome(tmp_path, Leg("loud", 9, shell("echo the reason; exit 3")))
    assert how == "failed: sh ended with code 3"
    assert counts == Counts(0, 1, 0)
    assert "the reason" in capsys.readouterr().out


def test_a_leg_over_its_cap_fails_and_its_program_is_ended(tmp_path: Path) -> None:
    pidfile = tmp_path / "pid"
    leg = Leg("slow", 1, shell(f"echo $$ > {pidfile}; sleep 60"))
    how, _ = outcome(tmp_path, leg)
    assert how == "failed: not done in 1 s"
    with pytest.raises(ProcessLookupError):
        os.kill(int(pidfile.read_text()), 0)


def test_a_leg_that_could_not_run_is_not_a_pass(tmp_path: Path) -> None:
    def absent(bench: Bench, leg: Leg) -> None:
        raise DidNotRun("no such server")

    assert outcome(tmp_path, Leg("absent", 1, absent)) == ("did not run: no such server", Counts(0, 0, 1))
