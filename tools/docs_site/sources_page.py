"""The page of sources: every one, with how far it was read."""

from __future__ import annotations

from collections import Counter
from typing import Final, get_args

from tools.docs_site.markdown import code, table

from wetrun.sources import SOURCES, Source, Status

_MEANING: Final = {
    "read": "The number was seen in the source itself, or in the part of it that is named.",
    "second-hand": "The number was seen where somebody else quotes it.",
    "from memory": "Nobody opened the source for it. It never decides a pass or fail without saying so.",
    "common practice, no source": "What the trade does; no source was found, and none is pretended.",
    "derived": "Worked out here from the others.",
    "definition": "Exact by agreement.",
}

_TOP = """# Sources

Every published number in the program names one of these. The *status* says how far it may be trusted.

"""


def sources_page() -> str:
    """Return the page."""
    statuses = get_args(Status)
    often = Counter(source.status for source in SOURCES.values())
    head = table(["status", "how many", "means"], ([one, often[one], _MEANING[one]] for one in statuses))
    return _TOP + head + "".join(map(_of_status, statuses))


def _of_status(status: str) -> str:
    found = sorted((one for one in SOURCES.values() if one.status == status), key=lambda one: one.key)
    return f"## {status[0].upper()}{status[1:]}\n\n" + table(["key", "what", "where", "note"], map(_row, found))


def _row(source: Source) -> list[str]:
    return [code(source.key), source.citation, source.where, source.note]
