"""Who does which kind of job."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeAlias

from wetrun.shop.jobs.running import Result, Running

Handler: TypeAlias = Callable[[Running], Result]
_HANDLERS: dict[str, Handler] = {}


class NobodyHandles(LookupError):  # noqa: N818 - named as a reader would say it
    """A kind of job without a handler."""

    def __init__(self, kind: str) -> None:
        self.kind = kind
        super().__init__(f"nobody handles jobs of the kind “{kind}”")


def handles(kind: str) -> Callable[[Handler], Handler]:
    """Return a decorator that makes a function the handler of a kind of job.

    Parameters
    ----------
    kind : str
        As it is asked for.

    Returns
    -------
    callable
        The decorator.

    Raises
    ------
    ValueError
        If somebody handles that kind already.
    """

    def entered(handler: Handler) -> Handler:
        if _HANDLERS.setdefault(kind, handler) is not handler:
            raise ValueError(f"“{kind}” is handled by {_HANDLERS[kind].__module__} already")
        return handler

    return entered


def handler_of(kind: str) -> Handler:
    """Return the handler of a kind of job.

    Raises
    ------
    NobodyHandles
        If there is none.
    """
    try:
        return _HANDLERS[kind]
    except KeyError:
        raise NobodyHandles(kind) from None
