"""How tests read a log from a path."""

from pathlib import Path

from wetrun.fieldlog.readers.formats import FORMATS, traces_in
from wetrun.fieldlog.readers.log_bundle import bundle_around
from wetrun.fieldlog.readers.mapping import ColumnMapping
from wetrun.fieldlog.readers.request import ReadRequest
from wetrun.fieldlog.readers.sent_files import SentFile, sent_files
from wetrun.fieldlog.trace import Trace


def only_trace(path: Path, mapping: ColumnMapping | None = None) -> Trace:
    (trace,) = traces_in(path, ReadRequest(mapping))
    return trace


def sent(path: Path) -> SentFile:
    (file,) = sent_files(path)
    assert isinstance(file, SentFile)
    return file


def recognised_as(path: Path) -> list[str]:
    """Return the words of every format that recognises a file."""
    return [one.words for one in FORMATS if one.sniff(sent(path))]


def bundle_in(folder: Path):
    """Return the one set of task data in a folder."""
    (main,) = (one for one in sent_files(folder) if isinstance(one, SentFile) and one.base == "taskdata.xml")
    return bundle_around(main)
