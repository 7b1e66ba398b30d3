"""Run the service: `python3 manage.py demo`, `serve`, `test`, `nightly`, `invite` and Django's own commands."""

import os
import sys


def main():
    """Set up the environment if this Python has none, then hand over to Django."""
    from compliance.bootstrap import CannotSetUp, ensure_environment

    try:
        ensure_environment(sys.argv)
    except CannotSetUp as error:
        sys.exit(str(error))

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "compliance.config.settings")
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
