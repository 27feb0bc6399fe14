"""What lies between the commands and the terminal.

A file name, an argument or a text of a spec may hold characters that a terminal obeys:
colours, a new window title, a cursor that goes back over what was said.  Whatever is
written, by whichever part, goes through here and has them spelt out.  In JSON the form
in which they are spelt out is the character itself.
"""

from __future__ import annotations

import os
import re
import sys

TYPE_CHECKING = False
if TYPE_CHECKING:  # for type checkers alone, so that the help imports none of it
    from collections.abc import Callable, Iterable
    from typing import Any, TextIO

# Controls but the tab and the line break, marks that turn the direction of writing, halves of characters.
_OBEYED = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff]|\r(?!\n)"
)


class Unwritten(Exception):
    """What was said cannot be written; the text is why."""


class Guarded:
    """A text stream that passes on nothing a terminal obeys."""

    def __init__(self, stream: TextIO):
        self._stream = stream

    def write(self, text: str) -> int:
        """Write a text, with letters that the terminal lacks spelt out; its length."""
        self._done(self._stream.write, spelt_out(text))
        return len(text)

    def writelines(self, lines: Iterable[str]) -> None:
        """Write several texts."""
        for line in lines:
            self.write(line)

    def flush(self) -> None:
        """Hand on what is still held back."""
        self._done(self._stream.flush)

    def _done(self, act: Callable[..., object], *given: str) -> None:
        try:
            act(*given)
        except BrokenPipeError:
            raise
        except OSError as exc:
            raise Unwritten(exc.strerror or str(exc)) from None

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)


def spelt_out(text: str) -> str:
    """``text`` with what a terminal obeys spelt out, line breaks and tabs apart."""
    return _OBEYED.sub(lambda found: f"\\u{ord(found[0]):04x}", text)


def guarded(run: Callable[[list[str]], int], arguments: list[str]) -> int:
    """The exit code of ``run(arguments)``, with both streams guarded; 1 where the answer cannot be written."""
    # Left in place: what goes wrong beyond all this is told through them, too.
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        setattr(sys, name, stream and Guarded(stream))
    try:
        try:
            code = run(arguments)
        except SystemExit as exc:  # --help, and what argparse refuses
            code = exc.code if isinstance(exc.code, int) else 1
        if sys.stdout is not None:
            sys.stdout.flush()
    except BrokenPipeError:
        # Whoever was reading has gone; that is no fault of the kitchen's.
        code = 1
        _give_up(sys.stdout)
    except Unwritten as exc:
        code = 1
        _give_up(sys.stdout)
        try:
            print(f"platecard: the answer cannot be written: {exc}", file=sys.stderr)
        except (Unwritten, BrokenPipeError):
            _give_up(sys.stderr)
    return code


def _give_up(stream: TextIO) -> None:
    """Let what is still waiting to be written go nowhere, so that the end of the program does not try once more."""
    try:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, stream.fileno())
        os.close(nowhere)
    except (OSError, ValueError, AttributeError):
        pass  # there is no stream, or it is no file of the system
