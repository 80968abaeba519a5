"""The page of the command line: every command with every argument and option, read off the commands themselves."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import typer.main
from tools.docs_site.markdown import code, table
from typer.core import TyperGroup

from wetrun.cli.app import app
from wetrun.shop.serving.__main__ import app as serving_app

_TOP = """# The command line

Every command takes `--help`. Results go to standard output, errors to standard error; the exit code says what kind of
error it was: see [Refusals](errors.md). Commands that take `--json` answer with SI inside, names ending in their unit.

"""
Shown = Any
"""A command or a parameter: what Typer makes of them is no type that it names."""


def commands_page() -> str:
    """Return the page."""
    return _TOP + "".join(_told(name, command) for name, command in every_command())


def every_command() -> Iterator[tuple[str, Shown]]:
    """Yield every command with its words, groups opened up, in the order of `wetrun --help`."""
    yield from _inside("wetrun", typer.main.get_command(app))


def _inside(name: str, command: Shown) -> Iterator[tuple[str, Shown]]:
    if name == "wetrun serve":  # the shop reads and explains its own options
        yield name, typer.main.get_command(serving_app)
    elif isinstance(command, TyperGroup):
        for word, one in command.commands.items():
            yield from _inside(f"{name} {word}", one)
    else:
        yield name, command


def _told(name: str, command: Shown) -> str:
    about = " ".join((command.help or "").split())
    rows = [_row(one) for one in command.params if "--help" not in one.opts]
    return f"## `{name}`\n\n{about}\n\n" + (table(["type", "what", "needed"], rows) if rows else "")


def _row(one: Shown) -> list[str]:
    written = ", ".join(code(word) for word in (*one.opts, *one.secondary_opts))
    if one.param_type_name == "argument":
        written = code((one.name or "").upper() + (" …" if one.nargs == -1 else ""))
    default = "" if one.default in (None, False, ()) or one.required else f" Default: `{one.default}`."
    return [written, (getattr(one, "help", "") or "") + default, "yes" if one.required else "no"]
