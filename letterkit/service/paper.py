"""The pages of a letter as pictures: those of its Word document where LibreOffice is installed, else those of its PDF.

Nothing of it waits in a request: a letter's pages are made by one thread, one letter after another, with a limit of
time. They are kept in memory for a while. What LibreOffice needs as files lies in a folder of its own, in memory where
the system has such a place, and is gone as soon as it has answered; what a killed service left is removed at its start.
"""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import tempfile
import threading
import time
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from concurrent.futures import TimeoutError as NotYet
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Literal, TypeAlias

import typst
from starlette.requests import Request

from letterkit.errors import LetterkitError
from letterkit.letter.model import Letter
from letterkit.render.pdf import DOTS_PER_INCH, pictures
from letterkit.service.logs import log

LIMIT_S = 20.0
"""How long the conversion of one letter may take."""
_KEPT = 16  # letters, of about half a megabyte each
_KEPT_S = 600.0
_WAITING = 4  # letters that may wait for LibreOffice; beyond that the PDF's pages are shown
_MOST_PAGES = 40
_BEGINNING = threading.Lock()
_PREFIX = "letterkit-pages-"
_MEMORY = Path("/dev/shm")  # noqa: S108 - a folder of our own is made in it, for this user alone
_PAGE = '#set page(width: auto, height: auto, margin: 0pt)\n#image("/letter.pdf", page: {number}, alt: "page")'
How: TypeAlias = Literal["word", "pdf"]
Key: TypeAlias = tuple[str, int, str, date]
"""What pages are known by: the work, its version, whose letter it is, and the day, which a draft bears."""


@dataclass(frozen=True, slots=True)
class Pages:
    """The pages of a letter as PNG; `how` says of which file they are."""

    how: How
    pictures: tuple[bytes, ...]


@dataclass(slots=True)
class _Job:
    """Pages that are made, or will be."""

    future: Future[Pages]
    begun: float


def office() -> str | None:
    """Where LibreOffice is, or None."""
    return shutil.which("soffice") or shutil.which("libreoffice")


def _place() -> Path:
    return _MEMORY if _MEMORY.is_dir() and os.access(_MEMORY, os.W_OK) else Path(tempfile.gettempdir())


def sweep() -> None:
    """Removes what a service that was killed left behind; what another one is at work on is younger than that."""
    for folder in _place().glob(f"{_PREFIX}*"):
        with suppress(OSError):
            state = folder.lstat()
            if state.st_uid == os.getuid() and time.time() - state.st_mtime > 3 * LIMIT_S:
                shutil.rmtree(folder, ignore_errors=True)


def _end(process: subprocess.Popen[bytes]) -> None:
    """Ends a program with everything it started, and waits for it."""
    with suppress(ProcessLookupError):
        os.killpg(process.pid, signal.SIGKILL)
    process.wait()


def _convert(program: str, folder: Path, within: float) -> None:
    """Makes letter.pdf of letter.docx in a folder. Raises LetterkitError where that fails or takes too long."""
    command = [
        program, f"-env:UserInstallation={(folder / 'profile').as_uri()}", "--headless", "--norestore", "--nodefault",
        "--nolockcheck", "--convert-to", "pdf", "--outdir", str(folder), str(folder / "letter.docx"),
    ]  # fmt: skip
    environment = {
        "PATH": os.environ.get("PATH", os.defpath),
        "HOME": str(folder),
        "TMPDIR": str(folder),
        "LANG": "C.UTF-8",
    }
    process = subprocess.Popen(  # noqa: S603 - an installed program, and a document that we made
        command, cwd=folder, env=environment, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL, start_new_session=True,
    )  # fmt: skip
    try:
        code = process.wait(within)
    except subprocess.TimeoutExpired:
        raise LetterkitError("the Word document could not be shown in time") from None
    finally:
        if process.poll() is None:
            _end(process)
    if code != 0 or not (folder / "letter.pdf").is_file():
        raise LetterkitError("the Word document could not be shown")


def _pictures(folder: Path) -> tuple[bytes, ...]:
    """The pages of letter.pdf in a folder."""
    compiler = typst.Compiler(root=str(folder), ignore_system_fonts=True)
    made: list[bytes] = []
    for number in range(1, _MOST_PAGES + 1):
        try:
            page = compiler.compile(_PAGE.format(number=number).encode(), format="png", ppi=DOTS_PER_INCH)
        except typst.TypstError:  # there is no such page: the one before was the last
            break
        if isinstance(page, bytes):
            made.append(page)
    if not made:
        raise LetterkitError("the Word document could not be shown")
    return tuple(made)


def word_pages(program: str, docx: bytes, within: float = LIMIT_S) -> tuple[bytes, ...]:
    """The pages of a Word document as LibreOffice sets them. Raises LetterkitError where it does not."""
    folder = Path(tempfile.mkdtemp(prefix=_PREFIX, dir=_place()))  # readable for this user alone
    try:
        (folder / "letter.docx").write_bytes(docx)
        _convert(program, folder, within)
        return _pictures(folder)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


class Paper:
    """Makes the pages of letters and keeps them for a while. `with_word` asks for those of the Word document."""

    def __init__(self, *, with_word: bool) -> None:
        self._program = office() if with_word else None
        self._jobs: OrderedDict[Key, _Job] = OrderedDict()
        self._lock = threading.Lock()
        self._maker = ThreadPoolExecutor(1, thread_name_prefix="pages")
        sweep()

    def ask(self, key: Key, letter: Callable[[], Letter], docx: Callable[[Letter], bytes]) -> Future[Pages]:
        """The pages known by that key: made, or begun now. `letter` and `docx` are called by the maker's thread."""
        now = time.monotonic()
        with self._lock:
            for old in [each for each, job in self._jobs.items() if now - job.begun > _KEPT_S]:
                del self._jobs[old]
            if (known := self._jobs.get(key)) is not None:
                self._jobs.move_to_end(key)
                return known.future
            waiting = sum(not job.future.done() for job in self._jobs.values())
            program = self._program if waiting < _WAITING else None
            future = self._maker.submit(_made, program, letter, docx)
            self._jobs[key] = _Job(future, now)
            while len(self._jobs) > _KEPT:
                self._jobs.popitem(last=False)
        return future

    def forget(self, work_id: str) -> None:
        """Lets go of the pages of work that is over."""
        with self._lock:
            for key in [key for key in self._jobs if key[0] == work_id]:
                del self._jobs[key]

    def close(self) -> None:
        """Makes no more pages, and lets go of those that were made."""
        self._maker.shutdown(wait=True, cancel_futures=True)
        self._jobs.clear()


def paper_of(request: Request, *, with_word: bool) -> Paper:
    """The maker of pages of an application, begun on first use."""
    with _BEGINNING:
        found: Paper | None = getattr(request.app.state, "paper", None)
        if found is None:
            found = request.app.state.paper = Paper(with_word=with_word)
    return found


def forget_pages(request: Request, work_id: str) -> None:
    """Lets go of the pages of work that is over."""
    found: Paper | None = getattr(request.app.state, "paper", None)
    if found is not None:
        found.forget(work_id)


def ready(future: Future[Pages], within: float) -> Pages | None:
    """The pages, if they are there within so many seconds. Raises what made them impossible."""
    try:
        return future.result(within)
    except NotYet:
        return None


def _made(program: str | None, letter: Callable[[], Letter], docx: Callable[[Letter], bytes]) -> Pages:
    words = letter()
    if program is not None:
        try:
            return Pages("word", word_pages(program, docx(words)))
        except (LetterkitError, OSError) as error:
            log().warning("pages", error=type(error).__name__)  # shown as those of the PDF instead
    return Pages("pdf", pictures(words))
