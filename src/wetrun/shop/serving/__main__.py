"""``python -m wetrun.shop.serving``: what `wetrun serve` starts."""

from __future__ import annotations

import os
import sys
from importlib.util import find_spec
from pathlib import Path
from typing import Annotated, Final

import typer

from wetrun.errors import InputProblems, NotServed, WetrunError

PARTS: Final = ("django", "granian", "whitenoise", "argon2", "axes", "django_htmx", "openpyxl", "tomli_w")
"""What the extra [shop] brings."""
MOST_WORKERS: Final = 64

app = typer.Typer(add_completion=False, pretty_exceptions_enable=False, rich_markup_mode=None)


@app.command()
def serve(  # noqa: PLR0913 - a command has as many options as its reader needs
    *,
    data: Annotated[
        Path | None,
        typer.Option("--data", help="Folder of database and uploads; default: WETRUN_DATA, else the user's."),
    ] = None,
    host: Annotated[str, typer.Option("--host", help="Address to listen on.")] = "127.0.0.1",
    port: Annotated[int, typer.Option("--port", min=1, max=65535, help="Port to listen on.")] = 8000,
    name: Annotated[
        list[str] | None,
        typer.Option(
            "--name", help="What people type to reach it, such as shop.example; default: WETRUN_HOSTS. Repeatable."
        ),
    ] = None,
    workers: Annotated[
        int | None, typer.Option("--workers", min=1, max=MOST_WORKERS, help="Processes for pages; default: by cores.")
    ] = None,
    tls_cert: Annotated[Path | None, typer.Option("--tls-cert", help="Certificate chain (PEM).")] = None,
    tls_key: Annotated[Path | None, typer.Option("--tls-key", help="Its key (PEM, without passphrase).")] = None,
    behind_proxy: Annotated[
        bool, typer.Option("--behind-proxy", help="A proxy before it ends TLS and sets X-Forwarded-Proto and -For.")
    ] = False,
    plain_http: Annotated[
        bool, typer.Option("--plain-http", help="No TLS although others reach it: in a closed network only.")
    ] = False,
    demo: Annotated[
        bool, typer.Option("--demo", help="Fill an empty shop with an invented branch; prints its sign-ins.")
    ] = False,
) -> None:
    """Run the shop: the bench as a web application. Ctrl-C stops it."""
    check_parts()
    from django.core.exceptions import ImproperlyConfigured

    from wetrun.shop import environment
    from wetrun.shop.serving.running import run_shop
    from wetrun.shop.serving.wish import Wish

    wish = Wish(
        data=data or environment.data_folder(),
        host=host,
        port=port,
        names=tuple(name or environment.listed("WETRUN_HOSTS", "")),
        workers=workers or min(4, max(2, os.cpu_count() or 1)),
        behind_proxy=behind_proxy,
        plain_http=plain_http,
        tls_cert=tls_cert,
        tls_key=tls_key,
        demo=demo,
    )
    try:
        run_shop(wish, say)
    except ImproperlyConfigured as error:
        raise SystemExit(tell(str(error), InputProblems.exit_code)) from error


def check_parts() -> None:
    """Refuse to start without what the shop stands on.

    Raises
    ------
    NotServed
        With the names of what is missing.
    """
    missing = [part for part in PARTS if find_spec(part) is None]
    if missing:
        reason = f"what it stands on is not installed ({', '.join(missing)})"
        raise NotServed("The shop", reason=reason, remedy="Install it: pip install 'wetrun[shop]'")


def say(sentence: str) -> None:
    """Print at once, whoever reads."""
    print(sentence, flush=True)  # noqa: T201


def tell(sentence: str, code: int) -> int:
    """Print a sentence on standard error and return the exit code."""
    print(sentence, file=sys.stderr)  # noqa: T201
    return code


def main() -> None:
    """Run it and end the process with its exit code."""
    try:
        app(prog_name="wetrun serve")
    except WetrunError as error:
        sys.exit(tell(str(error), error.exit_code))


if __name__ == "__main__":
    main()
