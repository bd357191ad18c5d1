"""`bayloft`, and `python -m bayloft`: what asks a command to end is answered from the first moment on."""

from __future__ import annotations

import signal
import sys
from contextlib import suppress
from types import FrameType


class Interrupted(SystemExit):
    """A signal asked the command to end: it does, cleaning up on the way out, with 128 and the signal's number."""


def _interrupted(number: int, _frame: FrameType | None) -> None:
    raise Interrupted(128 + number)


def run() -> None:
    """Run the command line; an interrupted one says so and leaves no folder half written."""
    for name in ("SIGINT", "SIGTERM", "SIGHUP"):
        number = getattr(signal, name, None)
        # What is ignored stays so: a command in the background, or one that is to outlive its terminal.
        if number is not None and signal.getsignal(number) is not signal.SIG_IGN:
            signal.signal(number, _interrupted)
    try:
        from bayloft.cli import main  # noqa: PLC0415 - it takes a while, and a signal may come meanwhile

        main(prog_name="bayloft")
    except Interrupted:
        # The terminal may be gone.
        with suppress(OSError):
            sys.stderr.write("\nbayloft: interrupted; every folder is whole, as it was or made anew\n")
        raise


if __name__ == "__main__":
    run()
