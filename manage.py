#!/usr/bin/env python
"""Run a management command: `python manage.py COMMAND`."""

import os
import sys


def main() -> None:
    """Hand the command line to Django; a bad setting is a sentence, not a traceback."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
    # A command may run long statements (a migration, a rebuild); the cap protects pages, not commands.
    os.environ.setdefault("SELVEDGE_STATEMENT_TIMEOUT", "0")
    from django.core.management import execute_from_command_line

    from deploy.environment import BadSetting

    try:
        execute_from_command_line(sys.argv)
    except BadSetting as error:
        sys.exit(f"selvedge: {error}")
    except KeyboardInterrupt:
        sys.exit(130)


if __name__ == "__main__":
    main()
