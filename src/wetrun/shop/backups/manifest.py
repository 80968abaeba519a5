"""What stands in a backup file: which parts, how long, with which content; the first thing that is read of it."""

from __future__ import annotations

from datetime import datetime
from pathlib import PurePosixPath
from typing import Final, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator

from wetrun.errors import InputProblems, Problem

MEMBER: Final = "manifest.json"
FORMAT: Final = "wetrun backup"
FORMAT_VERSION: Final = 1
FOLDERS: Final = ("uploads", "ledgers")
DATABASE: Final = {"sqlite": "database.sqlite3", "postgresql": "database.sql"}

Engine = Literal["sqlite", "postgresql"]


class Part(BaseModel):
    """One file in a backup."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    name: str = Field(max_length=1000)
    size: int = Field(ge=0)
    sha256: str = Field(pattern=r"^[0-9a-f]{64}$")

    @field_validator("name")
    @classmethod
    def check_place(cls, name: str) -> str:
        """Refuse a name that would be written anywhere but where backups write."""
        steps = name.split("/")
        plain = all(step not in {"", ".", ".."} for step in steps) and not set(name) & {"\\", "\0"}
        if not plain or PurePosixPath(name).is_absolute():
            raise ValueError("is no place in a data folder")
        if name not in DATABASE.values() and (steps[0] not in FOLDERS or len(steps) < 2):
            raise ValueError("is no part of a shop")
        return name


class Manifest(BaseModel):
    """The table of contents of a backup."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    format: Literal["wetrun backup"] = FORMAT
    format_version: Literal[1] = FORMAT_VERSION
    made_at: datetime
    wetrun: str
    """Version it was made by."""
    database: Engine
    migrations: tuple[tuple[str, str], ...]
    """Changes of the tables that were done, as pairs of app and name."""
    left_out: tuple[str, ...] = ()
    """Folders that were left out on purpose."""
    parts: tuple[Part, ...]


def manifest_of(text: bytes, file: str) -> Manifest:
    """Return a manifest.

    Parameters
    ----------
    text : bytes
        As it stands in the backup.
    file : str
        Name of the backup, for errors.

    Returns
    -------
    Manifest
        Its parts each once, the database among them.

    Raises
    ------
    InputProblems
        If it is none, or of a newer format.
    """
    try:
        head = _Head.model_validate_json(text)
        if head.format_version > FORMAT_VERSION:
            limit = f"it has format version {head.format_version}; this Wetrun reads up to {FORMAT_VERSION}"
            raise InputProblems([Problem(file, "", "", limit, "Install the Wetrun that made it, or a newer one")])
        manifest = Manifest.model_validate_json(text)
    except ValidationError as trouble:
        first = trouble.errors()[0]
        place = ".".join(str(step) for step in first["loc"])
        remedy = "Take another backup"
        raise InputProblems([Problem(file, f"{MEMBER} {place}".strip(), "", first["msg"], remedy)]) from trouble
    names = [part.name for part in manifest.parts]
    if len(set(names)) != len(names) or [n for n in names if n in DATABASE.values()] != [DATABASE[manifest.database]]:
        limit = "it does not name every part once, with one database"
        raise InputProblems([Problem(file, MEMBER, "", limit, "Take another backup")])
    return manifest


class _Head(BaseModel):
    format: Literal["wetrun backup"]
    format_version: int = Field(ge=1)
