"""The page of refusals: every kind of error with its exit code, and sentences that the program really says."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Final

from tools.docs_site.markdown import block, code, table

from wetrun.documents.catalogue_file import catalogue_template, tips_of_text
from wetrun.documents.groove_file import grooves_of_text
from wetrun.errors import WetrunError
from wetrun.quantity import Kind, System, read, sentence
from wetrun.spray.drift import sediment_frac

_TOP = """# Refusals

A refusal is a sentence: the thing, its value, the limit, the unit, what to do. It is no finding about a sprayer: those
are results. Nothing typed is lost by one, and nothing half-written is left behind.

## Kinds and exit codes

The exit code of the command line says which kind it was; 0 is an answer, 1 anything that is in no other line.

"""

_SAID: Final[tuple[tuple[str, Callable[[], object]], ...]] = (
    ("A unit that measures something else", lambda: read("40 mph", Kind.PRESSURE)),
    ("A unit nobody knows", lambda: read("12 furlongs", Kind.WIDTH)),
    ("A number that is none", lambda: read("fifteen gal/ac", Kind.RATE)),
    ("A value outside what a model is good for", lambda: sediment_frac(200.0)),
    ("A tip file with a column missing", lambda: tips_of_text("tips.csv", _without_column(catalogue_template()))),
    ("A file of another kind", lambda: grooves_of_text("grooves.csv", "height,width\n1,2\n")),
)


def errors_page() -> str:
    """Return the page."""
    kinds = table(["kind", "exit code", "when"], map(_row, _kinds(WetrunError)))
    return f"{_TOP}{kinds}## As it is said\n\n" + "".join(_said(what, refused) for what, refused in _SAID)


def _kinds(kind: type[WetrunError]) -> Iterator[type[WetrunError]]:
    for one in sorted(kind.__subclasses__(), key=lambda found: (found.exit_code, found.__name__)):
        yield one
        yield from _kinds(one)


def _row(kind: type[WetrunError]) -> list[str]:
    return [code(kind.__name__), str(kind.exit_code), (kind.__doc__ or "").partition("\n\n")[0].replace("``", "`")]


def _said(what: str, refused: Callable[[], object]) -> str:
    try:
        refused()
    except WetrunError as error:
        return f"### {what}\n\n{block(sentence(error, System.US))}"
    raise AssertionError(f"{what}: nothing was refused, so the page would say what is not so")


def _without_column(template: str) -> str:
    return template.replace(",family,", ",sort,", 1)
