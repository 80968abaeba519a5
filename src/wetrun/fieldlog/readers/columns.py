"""Which column of a table means what, from generic words in its header line and the units printed there."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from wetrun.fieldlog.readers.log_units import known_unit
from wetrun.fieldlog.readers.mapping import ColumnMapping

UNIT_IN_BRACKETS: Final = re.compile(r"^(?P<name>.*?)\s*[(\[](?P<unit>[^)\]]+)[)\]]\s*$")

# Tried in this order, first hit wins; a column serves one meaning only. A clock with date and fractions beats a bare
# time, and a target beats the controller's own set point. Words without their vowels are names cut to ten characters.
WORDS: Final[tuple[tuple[str, str], ...]] = (
    ("time", r"iso.*time|time.*iso|date.?time|time.?stamp|utc"),
    ("time", r"time|clock|_tim$"),
    ("width", r"width|swa?th"),
    ("section", r"section"),
    ("applied_rate", r"applied|appld|app.?rate|^rt_ap|actual.*rate|rate.*actual"),
    ("target_rate", r"target|targt|^tgt|prescribed"),
    ("target_rate", r"co?ntro?l.*ra?te?|set.*(rate|point)"),
    ("distance", r"dist|dstnc|travell?ed"),
    ("heading", r"heading|hdng|course|bearing|^tra?ck[ _]*d(eg)?_*$"),
    ("longitude", r"^(lon|lng)|longitude"),
    ("latitude", r"^lat|latitude"),
    ("speed", r"speed|^spd|velocity"),
    ("interval", r"^(cycles?|(log.?)?interval|duration|durtn.*)$"),
    ("record", r"^(obj(ect)?_*id|record[ _]*(id|no|nr|number)?)$"),
    ("track", r"^(track|recording|data.?set|session|machine|vehicle)([ _.-]?(id|no|nr|num|number|name|file))?$"),
)


@dataclass(frozen=True, slots=True)
class ColumnRole:
    """A column with its meaning; ``unit`` is empty where neither header nor mapping states one.

    ``worked_out`` marks a unit that nobody stated: the column was told from what it holds. ``fixed`` is a meaning that
    the format itself gives the column.
    """

    meaning: str
    column: str
    index: int
    unit: str
    format: str
    evidence: str
    worked_out: bool = False
    fixed: bool = False

    @property
    def stated(self) -> bool:
        """Whether its unit was stated."""
        return bool(self.unit) and not self.worked_out


def roles_in(
    header: tuple[str, ...], mapping: ColumnMapping | None, stated: Mapping[str, ColumnRole] | None = None
) -> dict[str, ColumnRole]:
    """Return the columns of a header by meaning: as mapped, as the format itself states them, or by their words.

    Example
    -------
    >>> found = roles_in(("Time", "Applied rate (gal/ac)", "Elevation"), None)
    >>> [(role.meaning, role.unit) for role in found.values()]
    [('time', ''), ('applied_rate', 'gal/ac')]
    """
    roles = {**(stated or {}), **(_mapped(header, mapping) if mapping else {})}
    for meaning, pattern in WORDS:
        taken = {role.index for role in roles.values()}
        fits = [i for i, name in enumerate(header) if i not in taken and re.search(pattern, _words(name))]
        if meaning not in roles and fits:
            roles[meaning] = _recognised(meaning, header, fits)
    return roles


def _mapped(header: tuple[str, ...], mapping: ColumnMapping) -> dict[str, ColumnRole]:
    roles = {}
    for meaning, mapped in mapping.columns.items():
        index = header.index(mapped.column)
        unit = mapped.unit or _printed_unit(meaning, mapped.column)
        source = f"named in {mapping.file}"
        roles[meaning] = ColumnRole(meaning, mapped.column, index, unit, mapped.format, source)
    return roles


def _recognised(meaning: str, header: tuple[str, ...], fits: list[int]) -> ColumnRole:
    name = header[fits[0]]
    also = ", ".join(header[i] for i in fits[1:])
    evidence = "recognised by the words of its header" + (f" (would also fit: {also})" if also else "")
    return ColumnRole(meaning, name, fits[0], _printed_unit(meaning, name), "", evidence)


def _words(name: str) -> str:
    found = UNIT_IN_BRACKETS.match(name)
    return (found["name"] if found else name).strip().lower()


def _printed_unit(meaning: str, name: str) -> str:
    """Return the unit in brackets after a header, or after its last underscores, as in ``_ft`` or ``_gal_ac``."""
    found = UNIT_IN_BRACKETS.match(name)
    if found:
        return known_unit(meaning, found["unit"]) or ""
    parts = name.split("_")[1:]
    return known_unit(meaning, "/".join(parts[-2:])) or known_unit(meaning, "".join(parts[-1:])) or ""
