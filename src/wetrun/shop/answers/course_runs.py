"""One more run over the course, typed in the yard as it is driven; what the course and its sources are is known."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from wetrun.shop.answers.run_document import rows_of, table_of


@dataclass(frozen=True, slots=True)
class SourceRead:
    """What is read of a speed source at each run.

    Attributes
    ----------
    name : str
        Of the source.
    counts : bool
        Whether its pulses are counted: it has a number. Else the speed it shows is read.
    """

    name: str
    counts: bool


def sources_of(document: Mapping[str, Any]) -> tuple[SourceRead, ...]:
    """Return the speed sources of a course, each with what is read of it."""
    found = (one for one in rows_of(document, "course", "source") if isinstance(one, Mapping) and one.get("name"))
    return tuple(SourceRead(str(one["name"]), bool(one.get("number"))) for one in found)


def next_way(document: Mapping[str, Any]) -> str:
    """Return the way the next run goes: the other one than the last."""
    runs = rows_of(document, "course", "run")
    return "back" if runs and table_of({"run": runs[-1]}, "run").get("way") == "out" else "out"


def runs_told(document: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return the runs so far as a table shows them: way, time, and what each source said."""
    sources = sources_of(document)
    runs = (one for one in rows_of(document, "course", "run") if isinstance(one, Mapping))
    return [
        {
            "way": one.get("way", ""),
            "time": one.get("time", ""),
            "said": [table_of(one, "pulses" if each.counts else "shown").get(each.name, "") for each in sources],
        }
        for one in runs
    ]


def run_row(typed: Mapping[str, str], sources: tuple[SourceRead, ...]) -> dict[str, Any]:
    """Return a run as its file holds it.

    Parameters
    ----------
    typed : mapping of str to str
        ``way``, ``time``, and what each source said, by its name.
    sources : tuple of SourceRead
        The sources.

    Returns
    -------
    dict
        Blanks left out.

    Example
    -------
    >>> run_row({"way": "out", "time": "15.7 s", "wheel": "322"}, (SourceRead("wheel", True),))
    {'way': 'out', 'time': '15.7 s', 'pulses': {'wheel': 322}}
    """
    pulses = {one.name: _count(typed[one.name]) for one in sources if one.counts and typed.get(one.name)}
    shown = {one.name: typed[one.name] for one in sources if not one.counts and typed.get(one.name)}
    row = {"way": typed["way"], "time": typed.get("time", ""), "shown": shown, "pulses": pulses}
    return {key: value for key, value in row.items() if value}


def said_of(source: SourceRead) -> str:
    """Return what is read of a source, in words."""
    return _("%(name)s, pulses") % {"name": source.name} if source.counts else source.name


def _count(text: str) -> Any:  # noqa: ANN401 - a number, or what is none: then the entry says so
    try:
        return int(text)
    except ValueError:
        pass
    try:
        return float(text.replace(",", "."))
    except ValueError:
        return text
