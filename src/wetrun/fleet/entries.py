"""A tallied log as bytes: for the cache, and for the way from one computer to another.

A mark, a hash of what follows, then the arrays with their facts as JSON. No code is ever read from such bytes, and
damage is known before anything is made of them.
"""

from __future__ import annotations

import io
import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, replace
from functools import cache
from hashlib import blake2b
from typing import Any, Final

import numpy as np
from pydantic import TypeAdapter, ValidationError

from wetrun.fieldlog.ledger import ledger_as_arrays, ledger_from_arrays
from wetrun.fieldlog.tallied import TalliedLog, TurnQuestion
from wetrun.fieldlog.tally import stored_entries, tally_from
from wetrun.fieldlog.trace import LogFacts
from wetrun.fieldlog.turns import TurnTally

FORMAT_VERSION: Final = 1
MARK: Final = b"wetrun tallied log\n"
DIGEST_BYTES: Final = 20
FACTS: Final = "facts"
RATE_PARTS: Final = ("width_cm", "least", "greatest", "area_cm2")


@dataclass(frozen=True, slots=True)
class Entry:
    """One file or set of task data, tallied.

    Attributes
    ----------
    name : str
        What it was called when it was read.
    logs : tuple of TalliedLog
        Its logs; a set of task data has several.
    aside : tuple of str
        Sentences about the parts of it that no plan can use.
    """

    name: str
    logs: tuple[TalliedLog, ...]
    aside: tuple[str, ...]

    def answers(self, questions: Iterable[TurnQuestion]) -> bool:
        """Return whether its turns have been asked all of these questions."""
        wanted = set(questions)
        return all(wanted <= log.turns.keys() for log in self.logs)

    def told_as(self, name: str) -> Entry:
        """Return the same under the name the file has now."""
        return Entry(name, tuple(_renamed(log, self.name, name) for log in self.logs), self.aside)


def joined_turns(fresh: Entry, older: Entry | None) -> Entry:
    """Return an entry with what an older one of the same log was asked besides."""
    if older is None or [log.drive for log in older.logs] != [log.drive for log in fresh.logs]:
        return fresh
    both = zip(fresh.logs, older.logs, strict=True)
    return replace(fresh, logs=tuple(replace(new, turns={**old.turns, **new.turns}) for new, old in both))


def entry_as_bytes(entry: Entry) -> bytes:
    """Return an entry as bytes; see the module for what they are."""
    arrays: dict[str, Any] = {}
    for nth, log in enumerate(entry.logs):
        arrays |= {f"{nth}.ledger.{name}": value for name, value in ledger_as_arrays(log.ledger).items()}
        arrays |= dict(zip((f"{nth}.rate.{part}" for part in RATE_PARTS), stored_entries(log.rate), strict=True))
    facts = {
        "format_version": FORMAT_VERSION,
        "name": entry.name,
        "aside": entry.aside,
        "logs": [_facts_of(log) for log in entry.logs],
    }
    arrays[FACTS] = np.frombuffer(json.dumps(facts, default=_plain_number).encode(), dtype=np.uint8)
    packed = io.BytesIO()
    np.savez(packed, **arrays)
    return MARK + _digest(packed.getbuffer()) + packed.getvalue()


def entry_from_bytes(stored: bytes) -> Entry:
    """Return the entry that `entry_as_bytes` made bytes of.

    Raises
    ------
    ValueError
        When they are damaged, cut off, or of another version.
    """
    head = len(MARK) + DIGEST_BYTES
    if not stored.startswith(MARK) or stored[len(MARK) : head] != _digest(memoryview(stored)[head:]):
        raise ValueError("it is damaged")
    with np.load(io.BytesIO(stored[head:]), allow_pickle=False) as arrays:
        facts = json.loads(arrays[FACTS].tobytes())
        if facts["format_version"] != FORMAT_VERSION:
            raise ValueError(f"it has format_version {facts['format_version']}, known here is {FORMAT_VERSION}")
        try:
            logs = tuple(_log(nth, known, arrays) for nth, known in enumerate(facts["logs"]))
        except ValidationError as strange:
            raise ValueError("its facts are not those of a log") from strange
    return Entry(facts["name"], logs, tuple(facts["aside"]))


def _digest(content: memoryview) -> bytes:
    return blake2b(content, digest_size=DIGEST_BYTES).digest()


def _facts_of(log: TalliedLog) -> dict[str, Any]:
    return {
        "drive": log.drive,
        "facts": asdict(log.facts),
        "full_width_m": log.full_width_m,
        "turns": [[asked.edges_m, asked.label_ratio, asdict(found)] for asked, found in log.turns.items()],
    }


def _log(nth: int, known: Mapping[str, Any], arrays: Mapping[str, Any]) -> TalliedLog:
    prefix = f"{nth}.ledger."
    ledger = {name.removeprefix(prefix): arrays[name] for name in arrays if name.startswith(prefix)}
    rate = tuple(arrays[f"{nth}.rate.{part}"] for part in RATE_PARTS)
    turns = {
        TurnQuestion(tuple(edges_m), label_ratio): _adapter(TurnTally).validate_python(found)
        for edges_m, label_ratio, found in known["turns"]
    }
    return TalliedLog(
        drive=known["drive"],
        facts=_adapter(LogFacts).validate_python(known["facts"]),
        full_width_m=known["full_width_m"],
        ledger=ledger_from_arrays(ledger),
        rate=tally_from(*rate),
        turns=turns,
    )


@cache
def _adapter(kind: type) -> TypeAdapter[Any]:
    return TypeAdapter(kind)


def _plain_number(value: object) -> object:
    if isinstance(value, np.generic):
        return value.item()
    raise TypeError(f"{type(value).__name__} is no fact of a log")


def _renamed(log: TalliedLog, before: str, now: str) -> TalliedLog:
    file = log.facts.file
    if before == now or not file.startswith(before):
        return log
    return replace(log, facts=replace(log.facts, file=now + file[len(before) :]))
