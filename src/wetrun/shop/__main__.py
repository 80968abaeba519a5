"""``python -m wetrun.shop``: the shop's own chores (migrate, work, check, backup …), as Django runs them."""

from __future__ import annotations

import os
import sys

from wetrun.errors import WetrunError
from wetrun.shop import lifeline


def main() -> int:
    """Run one of Django's commands, or one of ours, and return its exit code.

    Returns
    -------
    int
        What cannot be helped by reading a traceback is told in a sentence.
    """
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "wetrun.shop.settings")
    lifeline.tie()
    from django.core.exceptions import ImproperlyConfigured
    from django.core.management import execute_from_command_line
    from django.db.utils import OperationalError

    try:
        execute_from_command_line(["wetrun.shop", *sys.argv[1:]])
    except WetrunError as error:
        return told(str(error), error.exit_code)
    except ImproperlyConfigured as error:
        return told(str(error), 2)
    except OperationalError as error:
        return told(f"The database cannot be used: {' '.join(str(error).split())}", 8)
    return 0


def told(sentence: str, code: int) -> int:
    """Print a sentence on standard error and return the exit code."""
    print(sentence, file=sys.stderr)  # noqa: T201
    return code


if __name__ == "__main__":
    sys.exit(main())
