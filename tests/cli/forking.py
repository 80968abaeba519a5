"""Runs commands in processes that have loaded the libraries already: ``python forking.py`` and a request a line.

Three of four seconds of a command are spent loading. This process loads once and forks for every request; the fork is
`python -m wetrun` with its own folder, environment, streams and exit code, as a process started anew would be. Nothing
here starts a thread, and nothing of numba is compiled before the fork.
"""

from __future__ import annotations

import gc
import json
import os
import runpy
import sys
from importlib import import_module
from typing import Any, Final

LOADED: Final = (
    *("numba", "numpy", "pint", "pydantic", "rich.console", "scipy.optimize", "scipy.stats", "typer"),
    *(f"wetrun.cli.{name}_command" for name in ("changeover", "day", "loads", "plan", "prove", "replay")),
)


def main() -> None:
    """Answer requests until there are no more."""
    for name in LOADED:
        import_module(name)
    gc.freeze()  # so that a fork does not copy what it only looks at
    for line in sys.stdin:
        child = os.fork()
        if child == 0:
            become(json.loads(line))
            runpy.run_module("wetrun", run_name="__main__", alter_sys=True)
            return
        _, status = os.waitpid(child, 0)
        sys.stdout.write(f"{os.waitstatus_to_exitcode(status)}\n")
        sys.stdout.flush()


def become(request: dict[str, Any]) -> None:
    """Take a command's place: its streams are files, its input is empty."""
    for number, file in enumerate((os.devnull, request["out"], request["err"])):
        os.dup2(os.open(file, os.O_RDWR | os.O_CREAT), number)
    sys.stdin, sys.stdout, sys.stderr = (os.fdopen(number, way, encoding="utf-8") for number, way in enumerate("rww"))
    os.environ.clear()
    os.environ.update(request["environ"])
    os.chdir(request["folder"])
    sys.argv = ["wetrun", *request["words"]]
    sys.path[0] = request["folder"]


if __name__ == "__main__":
    main()
