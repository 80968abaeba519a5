"""The README shows what the commands really print."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]


def demo_block() -> list[str]:
    """What the README shows under `make demo`, without what it leaves out."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    block = re.search(r"```console\n\$ make demo\n(.*?)```", text, re.DOTALL)
    assert block is not None
    return [line.rstrip() for line in block.group(1).splitlines() if line and not line.startswith("[…")]


def test_the_demo_prints_what_the_readme_shows(tmp_path: Path) -> None:
    for part in ("season.toml", "wetrun.toml", "changeover.toml", "tips.csv", "log_map.toml", "make_logs.py"):
        (tmp_path / "demo").mkdir(exist_ok=True)
        (tmp_path / "demo" / part).write_bytes((ROOT / "demo" / part).read_bytes())
    told: list[str] = []
    environment = os.environ | {"PYTHONPATH": str(ROOT / "src"), "COLUMNS": "80", "PYTHONUTF8": "1"}
    steps = (
        ["demo/make_logs.py"],
        ["-m", "wetrun", "plan", "demo/season.toml", "--out", "out/demo"],
        ["-m", "wetrun", "loads", "demo/season.toml", "--out", "out/demo"],
        ["-m", "wetrun", "prove", "demo/wetrun.toml", "--out", "out/demo"],
        ["-m", "wetrun", "changeover", "demo/changeover.toml", "--out", "out/demo"],
    )
    for words in steps:
        done = subprocess.run(
            [sys.executable, *words], cwd=tmp_path, env=environment, capture_output=True, text=True, check=True
        )
        told += [f"$ python {' '.join(words)}", *(line.rstrip() for line in done.stdout.splitlines())]
    shown = [line for line in demo_block() if not line.startswith("Making the environment")]
    assert len(shown) > 30
    place = 0
    for line in shown:
        place = told.index(line, place) + 1 if line in told[place:] else -1
        assert place > 0, f"the README shows {line!r}, which the demo does not print there"


def test_every_command_the_readme_names_exists() -> None:
    from wetrun.cli.app import app, log_app, tips_app
    from wetrun.cli.boom_app import boom_app

    known = {command.name or command.callback.__name__ for command in app.registered_commands if command.callback}
    known |= {f"log {command.name}" for command in log_app.registered_commands}
    known |= {f"tips {command.name}" for command in tips_app.registered_commands}
    known |= {f"boom {command.name}" for command in boom_app.registered_commands}
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    named = re.findall(r"^\$ wetrun ((?:log |tips |boom )?[a-z]+)", text, re.MULTILINE)
    assert named
    assert set(named) <= known


def test_the_glossary_has_each_word_once() -> None:
    rows = re.findall(r"^\| ([^|]+) \|", (ROOT / "GLOSSARY.md").read_text(encoding="utf-8"), re.MULTILINE)
    words = [word.strip() for row in rows for word in row.split(",") if word.strip() not in {"word", "---"}]
    assert len(words) > 100
    assert sorted({word for word in words if words.count(word) > 1}) == []
