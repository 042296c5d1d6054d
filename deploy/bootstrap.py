"""deploy/start: set everything up, load the demo shop into an empty database, show the main job, and serve.

Standard library only; runs under any Python from 3.11 on and hands over to the one in the virtual environment.
"""

import argparse
import os
import sys
from typing import Any

from deploy import environment
from deploy.setup import packages, places, reader, serve, shop
from deploy.setup.words import Stop, complain, say


def arguments(given: list[str]) -> argparse.Namespace:
    """What stands behind deploy/start."""
    parser = argparse.ArgumentParser(prog="deploy/start", description="Set up, load the demo shop into an empty database, and serve.")
    parser.add_argument("--once", action="store_true", help="set up, show the main job, and exit without serving")
    parser.add_argument("--empty", action="store_true", help="an empty shop instead of the demo: one owner, whose password is shown once")
    return parser.parse_args(given)


def start(given: list[str]) -> int:
    """The whole of deploy/start. Returns an exit code, or does not return because this process became the server."""
    wishes = arguments(given)
    env = environment.read(os.environ)
    places.writable(env.home, "SELVEDGE_HOME")
    if not packages.usable(env.venv):
        places.writable(env.venv.parent, "SELVEDGE_VENV")
    lock = places.start_lock(env)
    if not wishes.once:
        places.port_is_free(env)
    if env.redis_url:
        shop.redis_answers(env.redis_url)
    python = packages.environment(env.venv, environment.REPOSITORY / "requirements.txt", os.environ.get("SELVEDGE_WHEELS", ""))
    reader.bring(env.venv, os.environ.get("SELVEDGE_WHEELS", ""))
    tools = shop.Tools(python, env)
    report = shop.prepare(tools, wishes.empty)
    shop.tell_the_story(tools, report)
    tell_who(report)
    if wishes.once:
        say("Everything is set up. Without --once, deploy/start now serves.")
        return 0
    say(f"\nSelvedge serves at {places.url(env)} – Ctrl-C ends it.")
    places.tell_where(lock, places.url(env))
    return serve.Family(python).run() if env.redis_url else serve.become_the_server(python)


def tell_who(report: dict[str, Any]) -> None:
    """The names to sign in with; a password only on the run that made it."""
    if report["sign_ins"]:
        say("\nSign in as:")
        for name, roles in report["sign_ins"]:
            say(f"  {name:<12} {roles}")
    if report["password"]:
        say(f"Password of {report['password_of']}, shown this once: {report['password']}")


def main() -> int:
    """Every reason that a person can mend is one sentence; the rest may show a traceback."""
    try:
        return start(sys.argv[1:])
    except (Stop, environment.BadSetting) as error:
        return complain(error)
    except KeyboardInterrupt:
        return complain(Stop("stopped. What was half done is done again at the next start."))


if __name__ == "__main__":
    sys.exit(main())
