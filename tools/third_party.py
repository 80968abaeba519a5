"""Writes THIRD_PARTY.md from the lock and the installed packages; ``--check`` fails if it is stale or a licence unfit.

Versions come from the lock, licences from the metadata of the packages installed at exactly those versions, so the
page is the same on every machine that followed the lock.
"""

from __future__ import annotations

import argparse
import hashlib
import re
import sys
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from importlib.metadata import Distribution, PackageNotFoundError, distribution
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).resolve().parent.parent
PAGE = ROOT / "THIRD_PARTY.md"
FONTS = ROOT / "src" / "wetrun" / "papers" / "fonts"

FIT = frozenset(
    {
        *("0BSD", "Apache-2.0", "BSD", "BSD-2-Clause", "BSD-3-Clause", "CC0-1.0", "ISC"),
        *("LLVM-exception", "MIT", "MIT-0", "MIT-CMU", "OFL-1.1", "PSF-2.0", "Unlicense", "Zlib"),
    }
)
# A tool may be under the Mozilla licence: it asks for its own files back only if they are changed and passed on.
FIT_FOR_TOOLS = FIT | {"MPL-2.0"}
# Lists of root certificates under the Mozilla licence: data, installed whole and never changed by us.
INSTALLED_WHOLE = frozenset({"certifi"})
# Drivers for PostgreSQL under the Lesser GPL, in an extra of their own: whoever has no PostgreSQL never gets them.
# They are installed whole, imported as they are and never carried in the tree.
ONLY_ON_REQUEST = {"psycopg": "LGPL-3.0-only", "psycopg-binary": "LGPL-3.0-only"}

# What older metadata says in words, by its SPDX name. “BSD” alone says not which of its texts; all of them are fit.
SPDX = {
    "Apache 2.0": "Apache-2.0",
    "Apache Software License": "Apache-2.0",
    "BSD 2-Clause License": "BSD-2-Clause",
    "BSD License": "BSD",
    "ISC License (ISCL)": "ISC",
    "MIT License": "MIT",
    "Mozilla Public License 2.0 (MPL 2.0)": "MPL-2.0",
    "Python Software Foundation License": "PSF-2.0",
}
# Packages whose metadata states none: read by hand in the licence file they bring.
# docutils names the GPL for an Emacs mode that is in its source archive and not in the wheel that the lock installs.
READ_BY_HAND = {"axe-playwright-python": "MIT AND MPL-2.0", "docutils": "CC0-1.0 AND BSD-2-Clause"}
# Packages the lock holds for other systems only: no metadata to read here, so the licence was read by hand.
ELSEWHERE = {"colorama": "BSD-3-Clause"}
# Files carried in the tree, by the first 16 digits of their SHA-256, so that a changed file is noticed.
FONT_FILES = {
    "Lato-Bold.ttf": "e0b1c4de011de8dd",
    "Lato-Italic.ttf": "bbc138d69289c560",
    "Lato-Regular.ttf": "0ad460bd756454f8",
}
# Scripts carried in the tree for the pages, held the same way.
SCRIPTS = ROOT / "src" / "wetrun" / "shop" / "static" / "vendor" / "idb-8.0.4"
SCRIPT_FILES = {"LICENSE": "873a2f333fda393e", "umd.js": "84a1b83a821969a3"}
SCRIPT_FACTS = "idb, version 8.0.4, its build for browsers, unchanged; © 2016 Jake Archibald; ISC"
FONT_FACTS = "Lato, version 2.007, unchanged; © 2010–2014 tyPoland Lukasz Dziedzic, Reserved Font Name “Lato”; OFL-1.1"


class PageError(Exception):
    """The page cannot be written, or must not be: the sentence says why."""


@dataclass(frozen=True, slots=True)
class Package:
    """One locked package: its name, version and licence, and whether Wetrun needs it to run."""

    name: str
    version: str
    licence: str
    needed_to_run: bool


def locked_versions(lock: str) -> dict[str, str]:
    """Return the version of every package a lock file pins, by canonical name."""
    pins = re.findall(r"^([A-Za-z0-9._-]+)==([^\s;\\]+)", lock, flags=re.MULTILINE)
    return {canonicalize_name(name): version for name, version in pins}


def installed_at(name: str, version: str) -> Distribution | None:
    """Return the installed package, None if this system has no use for it; refuse another version than the lock's."""
    try:
        found = distribution(name)
    except PackageNotFoundError:
        if name in ELSEWHERE:
            return None
        sentence = f"{name} {version} is in the lock and is not installed here. Run `python3 dev.py setup` first."
        raise PageError(sentence) from None
    if found.version != version:
        raise PageError(f"{name} is {found.version} here and {version} in the lock. Run `python3 dev.py setup` first.")
    return found


def licence_of(metadata: Mapping[str, str], classifiers: Iterable[str]) -> str:
    """Return a package's licence as an SPDX expression where its metadata lets us.

    The expression field rules; then a short licence field, if it is one we know; then the trove classifiers.
    """
    expression = metadata.get("License-Expression")
    if expression:
        return expression
    stated = (metadata.get("License") or "").strip()
    known = SPDX.get(stated, stated)
    if known in FIT_FOR_TOOLS and known != "BSD":
        return known
    named = [SPDX.get(last, last) for last in (c.split(" :: ")[-1] for c in classifiers) if last != "OSI Approved"]
    return " AND ".join(sorted(set(named))) or stated or "not stated"


def unfit_parts(expression: str, fit: frozenset[str]) -> list[str]:
    """Return the licences in an SPDX expression that are not on the list; any one of an OR must be fit too.

    Example
    -------
    >>> unfit_parts("MIT AND (Apache-2.0 WITH LLVM-exception)", FIT)
    []
    >>> unfit_parts("MIT AND GPL-3.0-only", FIT)
    ['GPL-3.0-only']
    """
    if re.fullmatch(r"[\w.+-]+(\s+(AND|OR|WITH)\s+[\w.+-]+)*", re.sub(r"[()]", "", expression)) is None:
        return [expression]
    return [part for part in re.findall(r"[\w.+-]+", expression) if part not in {"AND", "OR", "WITH"} | fit]


def needed_to_run(direct: Iterable[str], versions: Mapping[str, str]) -> set[str]:
    """Return the canonical names of all packages reached from the direct requirements on this system."""
    reached: set[str] = set()
    waiting = [Requirement(text) for text in direct]
    while waiting:
        asked = waiting.pop()
        name = canonicalize_name(asked.name)
        if name in reached or (asked.marker is not None and not asked.marker.evaluate({"extra": ""})):
            continue
        reached.add(name)
        found = installed_at(name, versions[name])
        waiting += [Requirement(text) for text in (found.requires if found else None) or []]
    return reached


def locked_packages() -> list[Package]:
    """Return every locked package with its licence, in the order of the lock."""
    versions = locked_versions((ROOT / "requirements.lock").read_text(encoding="utf-8"))
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    wanted = [*project["dependencies"], *project["optional-dependencies"]["shop"]]
    running = needed_to_run(wanted, versions)
    return [package_for(name, version, name in running) for name, version in sorted(versions.items())]


def package_for(name: str, version: str, needed: bool) -> Package:  # noqa: FBT001 – a column of the page
    """Return one row of the page."""
    found = installed_at(name, version)
    if found is None:
        return Package(name, version, ELSEWHERE[name], needed)
    classifiers = [c for c in found.metadata.get_all("Classifier") or [] if c.startswith("License ::")]
    stated = {key: found.metadata[key] for key in ("License-Expression", "License") if key in found.metadata}
    return Package(name, version, READ_BY_HAND.get(name) or licence_of(stated, classifiers), needed)


def check_fitness(packages: Iterable[Package]) -> None:
    """Refuse any package whose licence is not on the list for its use."""
    bad = [
        f"{package.name} {package.version} is under {package.licence}"
        for package in packages
        if unfit_parts(package.licence, fit_for(package)) and package.licence != ONLY_ON_REQUEST.get(package.name)
    ]
    if bad:
        raise PageError("; ".join(bad) + ": not on the list of fit licences. Use another package, or change the list.")


def fit_for(package: Package) -> frozenset[str]:
    """Return the licences that are fit for a package in its use."""
    strict = package.needed_to_run and package.name not in INSTALLED_WHOLE
    return FIT if strict else FIT_FOR_TOOLS


def check_fonts() -> None:
    """Refuse fonts other than the ones whose licence we read."""
    found = {path.name: hashlib.sha256(path.read_bytes()).hexdigest()[:16] for path in sorted(FONTS.glob("*.[to]tf"))}
    if found != FONT_FILES:
        raise PageError(f"the fonts in {FONTS.relative_to(ROOT)} are {found}; the page knows {FONT_FILES}. Mend one.")
    if "SIL OPEN FONT LICENSE Version 1.1" not in (FONTS / "OFL.txt").read_text(encoding="utf-8"):
        raise PageError("the fonts' licence text OFL.txt is missing or is another one. Put it back.")


def check_scripts() -> None:
    """Refuse scripts other than the ones whose licence we read."""
    found = {path.name: hashlib.sha256(path.read_bytes()).hexdigest()[:16] for path in sorted(SCRIPTS.iterdir())}
    if found != SCRIPT_FILES:
        raise PageError(f"the scripts in {SCRIPTS.relative_to(ROOT)} are {found}; the page knows {SCRIPT_FILES}.")


def page_of(packages: list[Package]) -> str:
    """Return the whole page."""
    return "\n".join(
        [
            "# What Wetrun stands on",
            "",
            "Made by `tools/third_party.py` from `requirements.lock`; do not edit. Licences are as each package states",
            "them; wheels with compiled parts name what they bundle in their own licence files.",
            "",
            "## Needed to run",
            "",
            *table(package for package in packages if package.needed_to_run),
            "",
            "## Needed to build, test and check",
            "",
            *table(package for package in packages if not package.needed_to_run),
            "",
            "## Carried in the tree",
            "",
            f"* `src/wetrun/papers/fonts/` ({', '.join(FONT_FILES)}): {FONT_FACTS}. Text: `OFL.txt` beside them.",
            f"* `{SCRIPTS.relative_to(ROOT)}/` (umd.js): {SCRIPT_FACTS}. Text: `LICENSE` beside it.",
            "",
        ]
    )


def table(packages: Iterable[Package]) -> list[str]:
    """Return the lines of a Markdown table."""
    rows = [f"| {package.name} | {package.version} | {package.licence} |" for package in packages]
    return ["| package | version | licence |", "|---|---|---|", *rows]


def main() -> int:
    """Write the page or check it; return the exit code."""
    parser = argparse.ArgumentParser(description="Write THIRD_PARTY.md, or check it and the licences.")
    parser.add_argument("--check", action="store_true", help="write nothing; fail if the page is stale")
    asked = parser.parse_args()
    try:
        packages = locked_packages()
        check_fitness(packages)
        check_fonts()
        check_scripts()
    except PageError as problem:
        print(f"Third parties: {problem}", file=sys.stderr)
        return 1
    page = page_of(packages)
    if not asked.check:
        PAGE.write_text(page, encoding="utf-8")
    elif not PAGE.is_file() or PAGE.read_text(encoding="utf-8") != page:
        print("THIRD_PARTY.md is out of date. Run: .venv/bin/python tools/third_party.py", file=sys.stderr)
        return 1
    print(f"Third parties: {len(packages)} packages and {len(FONT_FILES)} font files, all under fit licences.")
    return 0


if __name__ == "__main__":
    sys.exit(main())
