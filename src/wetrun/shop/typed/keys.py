"""What an entry is made of: its keys, each with what it takes; tables, rows of tables, values by name."""

from __future__ import annotations

from dataclasses import dataclass

from pydantic import BaseModel

from wetrun.shop.typed.takes import Leaf


@dataclass(frozen=True, slots=True)
class Table:
    """A table of an entry's keys."""

    entry: type[BaseModel]


@dataclass(frozen=True, slots=True)
class Rows:
    """A list of tables; `bare` if a single one may stand without its list."""

    table: Table
    most: int
    bare: bool = False


@dataclass(frozen=True, slots=True)
class Pairs:
    """Values by name."""

    item: Leaf
    most: int


@dataclass(frozen=True, slots=True)
class Unknown:
    """What no box can hold."""


Take = Leaf | Table | Rows | Pairs | Unknown


@dataclass(frozen=True, slots=True)
class Key:
    """One key of an entry.

    Attributes
    ----------
    name : str
        As written.
    take : Take
        What it takes.
    required : bool
        Whether it has to be there.
    """

    name: str
    take: Take
    required: bool
