"""What a worker of a cluster is asked before it gets work: is it the same Wetrun, with the same folders in sight."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from wetrun.fleet.keys import method_words


@dataclass(frozen=True, slots=True)
class Probe:
    """What every worker has to see.

    Attributes
    ----------
    methods : str
        Methods of the one who asks.
    files : tuple of (Path, int)
        A log out of each folder, with its size.
    cache : Path
        Where tallied logs are kept.
    mark : str
        Name of a file that was just made there.
    """

    methods: str
    files: tuple[tuple[Path, int], ...]
    cache: Path
    mark: str


@dataclass(frozen=True, slots=True)
class Seen:
    """What one worker answers.

    Attributes
    ----------
    wrong : str
        Why it cannot be given work; empty if it can.
    cache : bool
        Whether it sees the same cache.
    """

    wrong: str
    cache: bool


def seen_by_worker(probe: Probe) -> Seen:
    """Return what this process sees of what is asked.

    Parameters
    ----------
    probe : Probe
        What it has to see.

    Returns
    -------
    Seen
        With the first thing wrong.
    """
    return Seen(_wrong(probe), (probe.cache / probe.mark).is_file())


def _wrong(probe: Probe) -> str:
    if probe.methods != method_words():
        return "runs another version of Wetrun"
    for file, size in probe.files:
        try:
            found = file.stat().st_size
        except OSError as fault:
            return f"cannot see {file} ({(fault.strerror or str(fault)).lower()})"
        if found != size:
            return f"sees another {file}: {found:,} bytes instead of {size:,}"
    return ""
