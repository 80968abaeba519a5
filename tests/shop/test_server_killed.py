"""The server killed outright while readings are entered: what was acknowledged is there, once.

Five kills here; `make load` does fifty, on SQLite and on PostgreSQL.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from tests.shop_kills import kills_during_entry
from tests.shop_serving import ROOT, ServedShop, chore, own_database, surroundings

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="processes are looked at by /proc")

KILLS = 5


def test_every_acknowledged_reading_is_there_and_none_twice(tmp_path: Path) -> None:
    data = tmp_path / "data"
    data.mkdir()
    with own_database() as environ:
        assert chore(data, "migrate", "-v0", "--skip-checks", environ=environ).returncode == 0
        words = [sys.executable, "-m", "tests.shop_writers", "seed"]
        seeded = subprocess.run(
            words, env=surroundings(data, environ), cwd=ROOT, capture_output=True, text=True, check=True
        )
        wet_run = int(seeded.stdout.split()[0])
        seen = kills_during_entry(ServedShop(data, environ=environ), wet_run, KILLS)
    assert len(seen.acknowledged) > KILLS
    assert sum(one.sent_again for one in seen.entered) >= KILLS
    assert seen.lost == set()
    assert seen.twice == []
    assert seen.changed == set()
    numbers = sorted(number for _, number in seen.kept.values())
    assert numbers == list(range(1, len(numbers) + 1))
