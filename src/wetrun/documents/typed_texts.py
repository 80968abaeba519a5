"""Every quantity of a document as it was typed, by its key."""

from __future__ import annotations

from collections.abc import Iterator

from pydantic import BaseModel

from wetrun.documents.refusals import key_of_place
from wetrun.quantity import Typed


def typed_texts(entry: BaseModel) -> dict[str, str]:
    """Return every quantity's text by its full key, such as ``pass[1].rate.target``.

    Parameters
    ----------
    entry : BaseModel
        A document that was accepted.

    Returns
    -------
    dict of str to str
        Positions count from 1.
    """
    return dict(_texts(entry, ()))


def _texts(value: object, place: tuple[int | str, ...]) -> Iterator[tuple[str, str]]:
    if isinstance(value, Typed):
        yield key_of_place({}, place), value.text
    elif isinstance(value, BaseModel):
        for name, field in type(value).model_fields.items():
            yield from _texts(getattr(value, name), (*place, field.alias or name))
    elif isinstance(value, list):
        for at, each in enumerate(value):
            yield from _texts(each, (*place, at))
    elif isinstance(value, dict):
        for name, each in value.items():
            yield from _texts(each, (*place, name))
