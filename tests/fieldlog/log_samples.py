"""Small valid logs of every format, written by the tests themselves: `SAMPLES` by the format's own name.

Each writer puts its files into a folder and returns them; what else the files hold is up to chance, so that a reader
is damaged in more places than one.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from pathlib import Path
from typing import Final

from bench.made_time_log import driven, header_text, log_bytes, write_task_data

from wetrun.fieldlog.readers import csv_log, iso_log

Writer = Callable[[Path, random.Random], list[Path]]

LOGGED: Final = ('A="0002" B="" C="DET-2"', 'A="00A1" B="" C="DET-2"', 'A="018D" B="" C="DET-1"')
NORTH_DEG: Final = 1 / 111_194.93  # one metre northward


def task_data(folder: Path, chance: random.Random) -> list[Path]:
    """A sprayer's task data with one or two time logs."""
    logs = {}
    for nth in range(chance.randint(1, 2)):
        letters = chance.choice(["ABD", "ABCDEFGHI", "AB"])
        records = driven(chance.randint(20, 80), letters=letters)
        logs[f"TLG0000{nth + 1}"] = header_text(letters, LOGGED), log_bytes(records, letters)
    main = chance.choice(["TASKDATA.XML", "TaskData.xml"])
    return sorted(write_task_data(folder / "TASKDATA", logs, main=main).iterdir())


def csv_table(folder: Path, chance: random.Random) -> list[Path]:
    """A text table: one row per section or per reading, some clock, some delimiter."""
    delimiter = chance.choice([",", ";", "\t"])
    clock = chance.choice([_iso_clock, _us_clock, _seconds])
    sections = chance.choice([(), ("1", "2", "3")])
    head = ["time (s)" if clock is _seconds else "iso time", *(["section"] if sections else [])]
    head += ["distance (m)", "width (m)", "applied rate (L/ha)", "target rate (L/ha)", "lon", "lat"]
    lines = [delimiter.join(head)]
    for nth in range(chance.randint(20, 60)):
        for section in sections or ("",):
            cells = [clock(nth), *([section] if sections else []), "1.0", "24.0", str(100 + nth % 3), "100", "10.0"]
            lines.append(delimiter.join([*cells, f"{50 + nth * NORTH_DEG:.9f}"]))
    file = folder / "log.csv"
    file.write_text(chance.choice(["\n", "\r\n"]).join(lines) + "\n", encoding=chance.choice(["utf-8", "utf-8-sig"]))
    return [file]


def _seconds(nth: int) -> str:
    return f"{0.2 * nth:.1f}"


def _iso_clock(nth: int) -> str:
    return f"2031-05-01T10:00:{0.2 * nth:06.3f}Z"


def _us_clock(nth: int) -> str:
    return f"5/13/2031 1:{nth // 60:02}:{nth % 60:02} PM"


# A reader without an entry here fails tests/fieldlog/test_fuzz_readers.py.
SAMPLES: Final[dict[str, Writer]] = {
    iso_log.FORMAT: task_data,
    csv_log.FORMAT: csv_table,
}
