"""The command line: the bench over files. Nothing heavy is imported before a command needs it."""

from __future__ import annotations

import sys


def main() -> None:
    """Run the command line and end the process with its exit code."""
    from wetrun.cli.app import app
    from wetrun.errors import WetrunError

    try:
        app(standalone_mode=True)
    except WetrunError as error:
        from wetrun.cli.telling import tell_error

        sys.exit(tell_error(error))
    except BrokenPipeError:
        # The reader of our output went away (`| head`): nothing to say, and nobody to say it to.
        sys.stderr.close()
        sys.exit(141)
