"""A folder of hand-outs, replaced as a whole: every new paper is there and no stale one, or all is as it was."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Final

from wetrun.errors import CannotWrite

HAND_OUT: Final = re.compile(r"tip-plan\.pdf|cab-card-[a-z0-9-]+\.pdf|lanes-[a-z0-9-]+-(us|si)\.svg")
"""Names only Wetrun gives; a paper so named that a new plan does not write belongs to an older plan."""


def write_all(
    folder: Path, documents: Mapping[str, bytes], *, replaces: re.Pattern[str] = HAND_OUT
) -> tuple[Path, ...]:
    """Write hand-outs into a folder, all or none, and take those of an earlier plan away.

    Parameters
    ----------
    folder : Path
        Where to; made if it is missing.
    documents : mapping of str to bytes
        Content by file name.
    replaces : pattern
        Names of hand-outs of the same kind: those of an earlier day that are not written again are taken away.

    Returns
    -------
    tuple of Path
        In the order given.

    Raises
    ------
    CannotWrite
        With the reason. Older papers then stand as they were and nothing new is left, folders included.

    Notes
    -----
    A cab card of a pass that is planned no more is removed: it would be driven by. Other files are never touched.
    """
    targets = tuple(folder / name for name in documents)
    made = _missing_folders(folder)
    parts = {target: target.with_name(f".{target.name}.{os.getpid()}.part") for target in targets}
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for target in targets:
            _check_replaceable(target)
        for part, content in zip(parts.values(), documents.values(), strict=True):
            _write_part(part, content)
        _exchange(parts, _stale(folder, set(documents), replaces))
    except OSError as trouble:
        _clean_up(parts.values(), made)
        raise _cannot_write(folder, trouble) from trouble
    except BaseException:
        _clean_up(parts.values(), made)
        raise
    return targets


def _missing_folders(folder: Path) -> list[Path]:
    """Folders that would have to be made, the innermost first."""
    return [place for place in (folder, *folder.parents) if not place.exists()]


def _check_replaceable(target: Path) -> None:
    if target.exists() and not target.is_file():
        remedy = "Move what stands there away, or choose another folder with --out."
        raise CannotWrite(str(target), reason="something that is no file has this name", remedy=remedy)
    if not os.access(target if target.exists() else target.parent, os.W_OK):
        remedy = "Allow writing there, or choose another folder with --out."
        raise CannotWrite(str(target), reason="it is protected against writing", remedy=remedy)


def _write_part(part: Path, content: bytes) -> None:
    with part.open("wb") as opened:
        opened.write(content)
        opened.flush()
        os.fsync(opened.fileno())


def _stale(folder: Path, new: set[str], replaces: re.Pattern[str]) -> list[Path]:
    return [path for path in folder.iterdir() if path.name not in new and replaces.fullmatch(path.name)]


def _exchange(parts: Mapping[Path, Path], stale: Iterable[Path]) -> None:
    """Put every part in its place and take what is stale away; whatever fails, put everything back."""
    aside: dict[Path, Path] = {}
    placed: list[Path] = []
    try:
        for path in (*parts, *(path for path in stale if path.is_file())):
            if path.exists():
                kept = path.with_name(f".{path.name}.{os.getpid()}.old")
                path.replace(kept)
                aside[path] = kept
            if path in parts:
                parts[path].replace(path)
                placed.append(path)
    except BaseException:
        for path in placed:
            path.unlink(missing_ok=True)
        for path, kept in aside.items():
            kept.replace(path)
        raise
    for kept in aside.values():
        with suppress(OSError):
            kept.unlink()


def _clean_up(parts: Iterable[Path], made: Iterable[Path]) -> None:
    for part in parts:
        with suppress(OSError):
            part.unlink(missing_ok=True)
    for place in made:
        with suppress(OSError):
            place.rmdir()


def _cannot_write(path: Path, trouble: OSError) -> CannotWrite:
    remedy = "Choose another folder with --out, or free the place and close the file if it is open."
    # The name of the file that failed, if the system says it, else the folder.
    return CannotWrite(str(trouble.filename2 or path), reason=(trouble.strerror or str(trouble)).lower(), remedy=remedy)
