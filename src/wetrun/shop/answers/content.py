"""What an answer was worked out from, part by part as hashes: whether it still stands, and in words what changed."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from hashlib import sha256
from typing import Any, Final

from wetrun import __version__
from wetrun.fieldlog import ledger, tallied
from wetrun.planning import season_result
from wetrun.shop.answers.season_logs import LogUse, passes_of, plain_name
from wetrun.shop.document_field import document_text
from wetrun.shop.records.models import Season

Parts = dict[str, Any]
PLAN_METHODS: Final = (
    f"{season_result.METHOD} {season_result.METHOD_NUMBER}",
    f"{ledger.METHOD} {ledger.METHOD_NUMBER}",
    f"{tallied.METHOD} {tallied.METHOD_NUMBER}",
)


def hash_of(content: object) -> str:
    """Return the hash of a document; equal documents have equal hashes, in whatever order their keys stand."""
    return sha256(json.dumps(json.loads(document_text(content)), sort_keys=True).encode()).hexdigest()


def season_parts(season: Season, texts: Mapping[str, str], uses: Sequence[LogUse]) -> Parts:
    """Return the parts a tip plan rests on, each as a hash.

    Parameters
    ----------
    season : Season
        With machine and customer.
    texts : mapping of str to str
        Hash of the text of the tip file and of each map of columns, by name.
    uses : sequence of LogUse
        Its logs, by pass.

    Returns
    -------
    dict
        Strings, lists and dicts only.
    """
    typed = passes_of(season)
    rest = {key: value for key, value in season.document.items() if key != "pass"}
    return {
        "machine": hash_of(season.machine.document),
        "customer": season.machine.customer.name,
        "season": hash_of([rest, season.units]),
        "passes": [[plain_name(one), hash_of(one)] for one in typed],
        "texts": dict(sorted(texts.items())),
        "logs": [[one.pass_name, one.name, one.log.sha256 if one.log else "", one.column_map] for one in uses],
        "methods": list(PLAN_METHODS),
        "wetrun": __version__,
    }


def what_changed(then: Parts, now: Parts) -> tuple[str, ...]:
    """Return in words what is another now than when an answer was worked out.

    Parameters
    ----------
    then, now : dict
        As `season_parts` gives them.

    Returns
    -------
    tuple of str
        One sentence each; nothing if all is the same.
    """
    return tuple(_changes(then, now))


def _changes(then: Parts, now: Parts) -> Iterator[str]:
    words = {
        "machine": "The machine was changed.",
        "customer": "The customer is called otherwise.",
        "season": "The season's own entries (water, budget, sets, tip file) were changed.",
    }
    yield from (sentence for key, sentence in words.items() if then.get(key) != now.get(key))
    yield from _passes_changed(dict(then.get("passes", [])), dict(now.get("passes", [])))
    yield from _texts_changed(then.get("texts", {}), now.get("texts", {}))
    yield from _logs_changed(then.get("logs", []), now.get("logs", []))
    if then.get("methods") != now.get("methods") or then.get("wetrun") != now.get("wetrun"):
        yield f"It was worked out by Wetrun {then.get('wetrun', '?')}; this is {now.get('wetrun')}."


def _passes_changed(then: Mapping[str, str], now: Mapping[str, str]) -> Iterator[str]:
    yield from (f"Pass “{name}” is new." for name in now if name not in then)
    yield from (f"Pass “{name}” is no longer there." for name in then if name not in now)
    both = [name for name in now if name in then]
    yield from (f"Pass “{name}” was changed." for name in both if then[name] != now[name])
    if [name for name in then if name in now] != both:
        yield "The passes stand in another order."


def _texts_changed(then: Mapping[str, str], now: Mapping[str, str]) -> Iterator[str]:
    for name in sorted({*then, *now}):
        if name not in now:
            yield f"The file {name} is no longer there."
        elif then.get(name) != now[name]:
            yield f"The file {name} {'was replaced' if name in then else 'is new'}."


def _logs_changed(then: Sequence[Sequence[str]], now: Sequence[Sequence[str]]) -> Iterator[str]:
    before, after = ({tuple(one) for one in logs} for logs in (then, now))
    yield from (f"Log {one[1]} counts for “{one[0]}” now." for one in sorted(after - before))
    gone = {one[:2] for one in before} - {one[:2] for one in after}
    yield from (f"Log {name} no longer counts for “{pass_name}”." for pass_name, name in sorted(gone))
