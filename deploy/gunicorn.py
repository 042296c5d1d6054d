"""Gunicorn's configuration: one process with threads. Scale by threads first; two processes would be two beats."""

import os
from typing import Any

from deploy import environment

_env = environment.read(os.environ)

wsgi_app = "deploy.wsgi"
bind = f"{_env.bind}:{_env.port}"
proc_name = "selvedge"
workers = 1
worker_class = "gthread"
threads = _env.threads
preload_app = False  # threads, pools and database handles must be made after the fork
control_socket_disable = True
graceful_timeout = 20
keepalive = 5
max_requests = 0
limit_request_line = 4094
worker_tmp_dir = "/dev/shm" if os.access("/dev/shm", os.W_OK) else None
loglevel = _env.log_level.lower()


def post_worker_init(worker: Any) -> None:
    """With no Redis, the worker process also runs the queue."""
    if not _env.redis_url:
        from deploy import embedded

        embedded.start()
