"""The command line as a person runs it: a process, its two streams and its exit code."""

from __future__ import annotations

import json
import os
import select
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

SOURCE = Path(__file__).parents[2] / "src"


@dataclass(frozen=True)
class Ran:
    """What one command did."""

    code: int
    out: str
    err: str


Run = Callable[..., Ran]


def surroundings(columns: int = 120) -> dict[str, str]:
    return os.environ | {"PYTHONPATH": str(SOURCE), "COLUMNS": str(columns), "PYTHONUTF8": "1"}


class Loaded:
    """A process that has loaded what most commands need, and forks for each; started anew if it had to be killed."""

    def __init__(self) -> None:
        self._process: subprocess.Popen[str] | None = None

    def asked(self, request: dict[str, Any], limit_s: float) -> int:
        """The exit code of a command."""
        if self._process is None:
            words = [sys.executable, str(Path(__file__).parent / "forking.py")]
            self._process = subprocess.Popen(
                words,
                env=surroundings(),
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                text=True,
                start_new_session=True,
            )
        told, heard = self._process.stdin, self._process.stdout
        assert told is not None
        assert heard is not None
        told.write(json.dumps(request) + "\n")
        told.flush()
        if not select.select([heard], [], [], limit_s)[0]:
            self.end()
            pytest.fail(f"wetrun {' '.join(request['words'])} took longer than {limit_s:g} s")
        return int(heard.readline())

    def end(self) -> None:
        if self._process is not None:
            os.killpg(self._process.pid, 9)
            self._process.wait()
            for stream in (self._process.stdin, self._process.stdout):
                if stream is not None:
                    stream.close()
            self._process = None


@pytest.fixture(scope="session")
def loaded() -> Iterator[Loaded]:
    process = Loaded()
    yield process
    process.end()


@pytest.fixture
def run(tmp_path: Path, tmp_path_factory: pytest.TempPathFactory, loaded: Loaded) -> Run:
    """Run `wetrun` in an empty folder."""

    def command(*words: str | Path, limit_s: float = 120.0, columns: int = 120) -> Ran:
        streams = tmp_path_factory.mktemp("said")
        out, err = streams / "out", streams / "err"
        request = {"words": [str(word) for word in words], "folder": str(tmp_path), "environ": surroundings(columns)}
        code = loaded.asked(request | {"out": str(out), "err": str(err)}, limit_s)
        return Ran(code, out.read_text(encoding="utf-8"), err.read_text(encoding="utf-8"))

    return command


@pytest.fixture
def run_anew(tmp_path: Path) -> Run:
    """Run `wetrun` in an empty folder as a process that loads everything itself."""

    def command(*words: str | Path, limit_s: float = 120.0) -> Ran:
        told = [sys.executable, "-m", "wetrun", *(str(word) for word in words)]
        done = subprocess.run(
            told, cwd=tmp_path, env=surroundings(), capture_output=True, text=True, timeout=limit_s, check=False
        )
        return Ran(done.returncode, done.stdout, done.stderr)

    return command
