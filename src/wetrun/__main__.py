"""``python -m wetrun``: the same as the ``wetrun`` command."""

from __future__ import annotations

from wetrun.cli import main

if __name__ == "__main__":
    main()
