"""Reads off an entry's annotations what each of its keys takes."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from functools import cache
from types import NoneType, UnionType
from typing import Annotated, Any, Final, Literal, Union, get_args, get_origin

from annotated_types import MaxLen, MinLen
from pydantic import BaseModel, PlainValidator
from pydantic.fields import FieldInfo

from wetrun.documents.changeover_fields import Moment
from wetrun.documents.fields import Quantity
from wetrun.documents.mixing_entry import FormField
from wetrun.documents.plain_fields import (
    Day,
    Droplets,
    FileName,
    Fit,
    Money,
    Passage,
    PassNames,
    Positions,
    Words,
)
from wetrun.documents.plumbing_entry import OneOrEach
from wetrun.documents.shorthand import Shorthand
from wetrun.documents.wetrun_catch_entry import Raw
from wetrun.documents.wetrun_fields import Number, Reading
from wetrun.shop.typed.choices import Choice, Several, YesNo
from wetrun.shop.typed.keys import Key, Pairs, Rows, Table, Take, Unknown
from wetrun.shop.typed.listed import Listed, TipReadings
from wetrun.shop.typed.takes import Amount, DayText, Leaf, LongText, MomentText, PlainNumber, Real, Whole

MOST_ROWS: Final = 200


def _check_of(alias: Any) -> Callable[..., Any]:  # noqa: ANN401 - an annotated type
    return next(note.func for note in alias.__metadata__ if isinstance(note, PlainValidator))


# Fields that are checked by a function of their own are told by it.
_BY_CHECK: Final[Mapping[Callable[..., Any], Leaf]] = {
    _check_of(Words): Leaf(),
    _check_of(FileName): Leaf(),
    _check_of(Positions): Leaf(),
    _check_of(FormField): Leaf(offer="formulations"),
    _check_of(Passage): LongText(),
    _check_of(Money): PlainNumber(),
    _check_of(Number): PlainNumber(),
    _check_of(Day): DayText(),
    _check_of(Moment): MomentText(),
    _check_of(Droplets): Listed(offer="droplets", bare=True),
    _check_of(Fit): Listed(bare=True),
    _check_of(PassNames): Listed(bare=True),
    _check_of(Raw): TipReadings(),
}


@cache
def keys_of(entry: type[BaseModel]) -> tuple[Key, ...]:
    """Return the keys of a class of entries, in its order.

    Parameters
    ----------
    entry : type of BaseModel
        An entry of `wetrun.documents`.

    Returns
    -------
    tuple of Key
        Worked out once per class.
    """
    return tuple(_key(name, field) for name, field in entry.model_fields.items())


def shorthand_of(entry: type[BaseModel]) -> str:
    """Return the key a bare value stands for; empty if a table has to be written."""
    return entry.shorthand_key() if issubclass(entry, Shorthand) else ""


def _key(name: str, field: FieldInfo) -> Key:
    return Key(field.alias or name, _take(field.annotation, tuple(field.metadata), field), field.is_required())


def _take(kind: Any, notes: tuple[Any, ...], field: FieldInfo) -> Take:  # noqa: ANN401 - an annotation
    if get_origin(kind) is Annotated:
        inner, *more = get_args(kind)
        return _take(inner, (*notes, *_opened(more)), field)
    if (leaf := _of_notes(notes)) is not None:
        return leaf
    if get_origin(kind) in {Union, UnionType}:
        parts = [part for part in get_args(kind) if part is not NoneType]
        return _take(parts[0], notes, field) if len(parts) == 1 else Unknown()
    return _of_kind(kind, notes, field)


def _opened(notes: list[Any]) -> Iterator[Any]:
    for note in notes:
        yield from note.metadata if isinstance(note, FieldInfo) else (note,)


def _of_notes(notes: tuple[Any, ...]) -> Leaf | None:
    for note in notes:
        if isinstance(note, Quantity):
            return Amount(quantity=note, keeps_blank=isinstance(note, Reading))
        if isinstance(note, PlainValidator) and note.func in _BY_CHECK:
            return _BY_CHECK[note.func]
    return None


def _of_kind(kind: Any, notes: tuple[Any, ...], field: FieldInfo) -> Take:  # noqa: ANN401
    if get_origin(kind) is Literal:
        usual = field.default if isinstance(field.default, str) else ""
        return Choice(options=tuple(map(str, get_args(kind))), usual=usual)
    if get_origin(kind) is list:
        return _of_list(get_args(kind)[0], notes, field)
    if get_origin(kind) is dict:
        item = _take(get_args(kind)[1], (), field)
        return Pairs(item, _most(notes)) if isinstance(item, Leaf) else Unknown()
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        return Table(kind)
    return _of_plain(kind, field)


def _of_plain(kind: Any, field: FieldInfo) -> Take:  # noqa: ANN401
    usual = field.default
    if kind is bool:
        return YesNo(usual=("yes" if usual else "no") if isinstance(usual, bool) else "")
    whole = Whole(usual=str(usual) if isinstance(usual, int) else "")
    return {int: whole, float: Real(), str: Leaf()}.get(kind, Unknown())


def _of_list(item: Any, notes: tuple[Any, ...], field: FieldInfo) -> Take:  # noqa: ANN401
    bare = any(isinstance(note, OneOrEach) for note in notes)
    inner = _take(item, (), field)
    if isinstance(inner, Table):
        return Rows(inner, _most(notes), bare)
    if isinstance(inner, Choice):
        usual = field.default if isinstance(field.default, list) else []
        return Several(options=inner.options, usual="\n".join(usual))
    if not isinstance(inner, Leaf):
        return Unknown()
    at_least_one = any(isinstance(note, MinLen) for note in notes)
    says_none = not at_least_one and (field.default is None or field.is_required())
    return Listed(item=inner, bare=bare, says_none=says_none)


def _most(notes: tuple[Any, ...]) -> int:
    return next(iter(_lengths(notes)), MOST_ROWS)


def _lengths(notes: tuple[Any, ...]) -> Iterator[int]:
    return (note.max_length for note in notes if isinstance(note, MaxLen))
