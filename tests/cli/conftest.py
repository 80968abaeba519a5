"""The command line as a person runs it: a process, its two streams and its exit code."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

SOURCE = Path(__file__).parents[2] / "src"


@dataclass(frozen=True)
class Ran:
    """What one command did."""

    code: int
    out: str
    err: str


Run = Callable[..., Ran]


@pytest.fixture
def run(tmp_path: Path) -> Run:
    """Run `wetrun` in an empty folder."""

    def command(*words: str | Path, limit_s: float = 120.0) -> Ran:
        told = [sys.executable, "-m", "wetrun", *(str(word) for word in words)]
        environment = os.environ | {"PYTHONPATH": str(SOURCE), "COLUMNS": "120", "PYTHONUTF8": "1"}
        done = subprocess.run(
            told, cwd=tmp_path, env=environment, capture_output=True, text=True, timeout=limit_s, check=False
        )
        return Ran(done.returncode, done.stdout, done.stderr)

    return command
