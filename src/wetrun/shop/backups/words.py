"""Says what is in a backup."""

from __future__ import annotations

from wetrun.shop.backups.manifest import FOLDERS, Manifest


def told_of(manifest: Manifest) -> str:
    """Return what is in a backup, in one line.

    Parameters
    ----------
    manifest : Manifest
        Of the backup.

    Returns
    -------
    str
        When, by which version, from which kind of database, how many files and bytes.
    """
    counts = [_files(folder, manifest) for folder in FOLDERS]
    size = sum(part.size for part in manifest.parts) / 1e6
    when = f"{manifest.made_at:%Y-%m-%d %H:%M} UTC"
    return f"{when}, Wetrun {manifest.wetrun}, {manifest.database}, {', '.join(counts)}, {size:.1f} MB unpacked."


def _files(folder: str, manifest: Manifest) -> str:
    if folder in manifest.left_out:
        return f"{folder} left out"
    return f"{sum(part.name.startswith(f'{folder}/') for part in manifest.parts)} {folder}"
