"""A scan into a part through REST, all rules included, at 8 clients, against pgbench with the same statements. At least 0.10.

The statements are those that one scan sends, caught as they pass; what differs from scan to scan (keys, ids, numbers of
records) is put in by pgbench itself. Rounds of the two alternate, and the ratio is the median of the pairs."""

from __future__ import annotations

import hashlib
import http.client
import json
import os
import re
import shutil
import signal
import socket
import statistics
import subprocess
import sys
import tempfile
import threading
import time
import uuid
from pathlib import Path
from typing import Any

from django.db import connection

from inventory.models import Device, Item, Token
from tests.benchmarks import shop
from tests.benchmarks.ground import URL, say, settle

CLIENTS, PARTS_EACH, PARTS_BENCH, SECONDS, ROUNDS = 8, 60, 240, 5, 5


class Catch:
    """Statements with their parameters, as they pass."""

    def __init__(self) -> None:
        self.seen: list[tuple[str, list[Any]]] = []

    def __call__(self, execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        self.seen.append((sql, list(params or [])))
        return execute(sql, params, many, context)


def token(y: Any) -> str:
    secret = "sv_bench-" + uuid.uuid4().hex
    device = Device.objects.create(site=y.site, name="bench machine", kind="service")
    digest = hashlib.sha256(secret.encode()).hexdigest()
    Token.objects.create(name="bench", person=y.person["Bram"], device=device, sha256=digest, scopes="write read", created_us=0)
    return secret


def caught(secret: str, roll: Item, part: Item) -> list[tuple[str, list[Any]]]:
    """What one scan says to the database, sign-in and all."""
    from django.test import Client

    catch = Catch()
    with connection.execute_wrapper(catch):
        response = Client(SERVER_NAME="127.0.0.1").post(
            "/api/verbs/lay/",
            data=json.dumps({"item": roll.code, "part": part.code, "qty": "1 mm"}),
            content_type="application/json",
            headers={"Authorization": f"Bearer {secret}", "Idempotency-Key": str(uuid.uuid4())},
        )
    assert response.status_code == 201, response.content
    return catch.seen


def script(seen: list[tuple[str, list[Any]]], roll: Item, part: Item, rolls_from: int, parts_from: int) -> str:
    """The same statements for pgbench, in one transaction: each client has a roll of its own and goes round its own parts. Ids are
    taken from what an insert returns; the next number of an item's leg is looked up, since pgbench cannot keep two rows."""
    lines = [
        f"\\set roll {rolls_from} + :client_id",
        f"\\set part {parts_from} + :client_id * {PARTS_BENCH} + random(0, {PARTS_BENCH - 1})",
        "BEGIN;",
    ]
    special = {roll.pk: ":roll", part.pk: ":part"}
    for sql, params in seen:
        if sql.startswith(("SAVEPOINT", "RELEASE", "BEGIN", "COMMIT")):
            continue
        text = re.sub(r"\s+", " ", filled(sql, params, special)).strip()
        if text.startswith("INSERT INTO inventory_act "):
            text = f"{text} \\gset act_"
        elif text.startswith("INSERT INTO inventory_leg "):
            text = f"WITH w AS ({text}) SELECT min(id) AS src, max(id) AS dst FROM w \\gset leg_"
        else:
            text += ";"
        lines.append(text)
    return "\n".join([*lines, "END;"]) + "\n"


def filled(sql: str, params: list[Any], special: dict[int, str]) -> str:
    table = re.match(r"INSERT INTO (\w+) \(([^)]*)\)", sql)
    columns = [c.strip() for c in table[2].split(",")] if table else []
    values = [_value(columns[n % len(columns)] if columns else "", value, special) for n, value in enumerate(params)]
    if "seq" in columns:
        for start in range(0, len(values), len(columns)):
            item = values[start + columns.index("item_id")]
            values[start + columns.index("seq")] = f"(SELECT max(seq) + 1 FROM inventory_leg WHERE item_id = {item})"
    return sql % tuple(values)


OWN = {"key": "gen_random_uuid()", "act_id": ":act_id", "src_leg_id": ":leg_src", "dst_leg_id": ":leg_dst"}
"""What must differ between scans, by the column that it is written to."""


def _value(column: str, value: Any, special: dict[int, str]) -> str:
    if column in OWN:
        return OWN[column]
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return special.get(value, str(value)) if column in ("", "item_id", "src_id", "dst_id") else str(value)
    if value is None:
        return "NULL"
    if isinstance(value, (list, tuple)):
        return "ARRAY[" + ",".join(special.get(v, str(v)) for v in value) + "]::bigint[]"
    # A colon in a text would be read as one of pgbench's variables, so it is written by its number.
    return "U&'" + str(value).replace("\\", "\\\\").replace("'", "''").replace(":", "\\003A") + "'"


def pgbench(path: str) -> float:
    """Transactions a second."""
    out = subprocess.run(
        ["pgbench", "-n", "-M", "prepared", "-c", str(CLIENTS), "-j", "2", "-T", str(SECONDS), "-f", path, URL],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    found = re.search(r"tps = ([\d.]+)", out.stdout)
    if not found or "aborted" in out.stderr:
        raise SystemExit(f"scan: pgbench failed:\n{out.stderr[-1500:]}")
    return float(found[1])


def rest(port: int, secret: str, rolls: list[Item], parts: list[Item]) -> float:
    """Scans a second of 8 clients for a while."""
    until, counts, wrong = time.perf_counter() + SECONDS, [0] * CLIENTS, []

    def client(n: int) -> None:
        line = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
        mine = parts[n * PARTS_EACH : (n + 1) * PARTS_EACH]
        while time.perf_counter() < until:
            body = json.dumps({"item": rolls[n].code, "part": mine[counts[n] % PARTS_EACH].code, "qty": "1 mm"})
            headers = {"Authorization": f"Bearer {secret}", "Idempotency-Key": str(uuid.uuid4()), "Content-Type": "application/json"}
            line.request("POST", "/api/verbs/lay/", body, headers)
            answer = line.getresponse()
            text = answer.read()
            if answer.status != 201:
                wrong.append(text[:300])
                return
            counts[n] += 1

    threads = [threading.Thread(target=client, args=(n,)) for n in range(CLIENTS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    if wrong:
        raise SystemExit(f"scan: refused: {wrong[0]!r}")
    return sum(counts) / SECONDS


def free_port() -> int:
    with socket.socket() as line:
        line.bind(("127.0.0.1", 0))
        return int(line.getsockname()[1])


def answering(server: subprocess.Popen[bytes], port: int) -> None:
    """Wait until the server takes calls. Raises SystemExit when it does not."""
    for _ in range(200):
        if server.poll() is not None:
            break
        try:
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
            return
        except OSError:
            time.sleep(0.2)
    raise SystemExit("scan: the server did not start")


def main() -> None:
    if shutil.which("pgbench") is None:
        raise SystemExit("scan: NOT RUN. It needs pgbench, which comes with PostgreSQL.")
    y = shop.yard()
    # Things of their own for each of the two: pgbench leaves states behind that no scan could have made.
    rolls, parts = shop.rolls(y, 2 * CLIENTS), shop.parts(y, CLIENTS * (PARTS_EACH + PARTS_BENCH))
    spare, free = rolls[CLIENTS:], parts[CLIENTS * PARTS_EACH :]
    secret = token(y)
    caught(secret, spare[0], free[1])  # what is read once a process is not part of a scan
    seen = caught(secret, spare[0], free[0])
    with tempfile.NamedTemporaryFile("w", suffix=".sql", delete=False) as file:
        file.write(script(seen, spare[0], free[0], spare[0].pk, free[0].pk))
    port, how = free_port(), ["-w", "2", "-k", "gthread", "--threads", "4", "--log-level", "error"]
    Path(os.environ["SELVEDGE_HOME"], "static").mkdir(exist_ok=True)
    server = subprocess.Popen([sys.executable, "-m", "gunicorn", "deploy.wsgi", "-b", f"127.0.0.1:{port}", *how])
    try:
        answering(server, port)
        rest(port, secret, rolls, parts)
        pairs = []
        for _ in range(ROUNDS):
            settle()  # every round adds thousands of edges, and a shop's database has looked at its tables since
            mine = rest(port, secret, rolls, parts)
            limit = pgbench(file.name)
            pairs.append((mine, limit, mine / limit))
        mine, limit, ratio = (statistics.median(column) for column in zip(*pairs, strict=True))
        found = f"{mine:.0f}/s against {limit:.0f}/s of pgbench, {ratio:.2f}"
        say("scan", f"{CLIENTS} clients, {len(seen)} statements a scan", found, "at least 0.10", ratio >= 0.1)
    finally:
        server.send_signal(signal.SIGTERM)
        server.wait(timeout=60)
        Path(file.name).unlink(missing_ok=True)
