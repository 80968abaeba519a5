"""What a working file says of its trace besides the columns: facts, sections, origin and versions, as JSON.

The JSON stands in the file's metadata under `KEY`. Numbers are written so that each comes back bit for bit; those JSON
cannot carry (not a number, infinite) are words. Nothing of a person is in it, for a trace holds nothing of a person.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, fields, is_dataclass
from types import UnionType
from typing import Annotated, Any, Final, TypeVar, get_args, get_origin, get_type_hints

from wetrun.fieldlog.cleaning import METHOD, METHOD_NUMBER
from wetrun.fieldlog.joining import Told, told_by
from wetrun.fieldlog.trace import LogFacts, Origin, SectionFacts, Trace
from wetrun.units import M

Kind = TypeVar("Kind")

KEY: Final = b"wetrun_trace"
FORMAT_VERSION: Final = 2
OLDEST_VERSION: Final = 1
BEFORE_VERSION_2: Final = {"swing": False}


@dataclass(frozen=True, slots=True)
class WorkingHeader:
    """All of a trace that is not a column, and by which method it was cleaned.

    ``swing`` says whether the trace has a swing ratio, so that its column is not even looked at where there is none.
    """

    facts: LogFacts
    sections: tuple[SectionFacts, ...]
    full_width_m: M
    origin: Origin | None
    swing: bool = False
    method: str = METHOD
    method_number: int = METHOD_NUMBER
    format_version: int = FORMAT_VERSION


class HeaderError(ValueError):
    """The JSON is not the header of a trace, or one of a version not known here. The message says which."""


def header_of(trace: Trace) -> WorkingHeader:
    """Return the header of a trace."""
    return header_told(told_by(trace))


def header_told(told: Told) -> WorkingHeader:
    """Return the header of a trace whose pieces say this."""
    return WorkingHeader(told.facts, told.sections, told.full_width_m, told.origin, told.swing)


def header_as_json(header: WorkingHeader) -> str:
    """Return the header as one line of JSON."""
    return json.dumps(_plain(header), allow_nan=False, ensure_ascii=True)


def header_from_json(text: str | bytes) -> WorkingHeader:
    """Return the header that `header_as_json` wrote.

    Raises
    ------
    HeaderError
        When it is damaged, or of a later version.
    """
    try:
        plain = json.loads(text)
        version = plain["format_version"]
        if isinstance(version, int) and version > FORMAT_VERSION:
            raise HeaderError(f"it has format_version {version}, known here up to {FORMAT_VERSION}")
        if not isinstance(version, int) or version < OLDEST_VERSION:
            raise HeaderError(f"its format_version is {str(version)[:40]!r}")
        return _checked_bits(_built(WorkingHeader, BEFORE_VERSION_2 | plain if version == 1 else plain))
    except (TypeError, KeyError, AttributeError, RecursionError, UnicodeError, OverflowError) as fault:
        raise HeaderError("what it says of its trace is damaged") from fault
    except ValueError as fault:
        raise (
            fault if isinstance(fault, HeaderError) else HeaderError("what it says of its trace is damaged")
        ) from fault


def _checked_bits(header: WorkingHeader) -> WorkingHeader:
    """Return a header whose sections have one place each in the swing ratios of an instant."""
    if header.swing and sorted(one.bit for one in header.sections) != list(range(len(header.sections))):
        raise HeaderError("its sections do not have one bit each")
    return header


def _plain(value: object) -> object:
    if is_dataclass(value):
        return {part.name: _plain(getattr(value, part.name)) for part in fields(value)}
    if isinstance(value, tuple):
        return [_plain(part) for part in value]
    if isinstance(value, float) and not float("-inf") < value < float("inf"):
        return str(value)
    return value


def _built(kind: type[Kind], plain: dict[str, Any]) -> Kind:
    hints = get_type_hints(kind, include_extras=True)
    return kind(**{part.name: _value(hints[part.name], plain[part.name]) for part in fields(kind)})  # type: ignore[arg-type]


def _value(kind: Any, plain: Any) -> Any:  # noqa: ANN401 - whatever a field of a header may be
    """Return a plain value as the type a field is annotated with; nothing else is let in."""
    if get_origin(kind) is Annotated:
        return _value(get_args(kind)[0], plain)
    if get_origin(kind) is tuple:
        return tuple(_value(get_args(kind)[0], part) for part in _checked(list, plain))
    if isinstance(kind, UnionType):
        return None if plain is None else _value(get_args(kind)[0], plain)
    if isinstance(kind, type) and is_dataclass(kind):
        return _built(kind, _checked(dict, plain))
    if kind is float:
        return float(plain) if isinstance(plain, float | str) else float(_checked(int, plain))
    return _checked(kind, plain)


def _checked(kind: type, plain: Any) -> Any:  # noqa: ANN401
    if type(plain) is not kind:
        raise TypeError(kind)
    return plain
