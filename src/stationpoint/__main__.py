"""The command `stationpoint`, and `python -m stationpoint`.

What main() needs is imported first, and a Ctrl-C meanwhile ends the call as it does any other: by the signal,
without a traceback.
"""

import sys


def _hush(kind: type[BaseException], error: BaseException, _: object) -> None:
    if not issubclass(kind, KeyboardInterrupt):
        sys.__excepthook__(kind, error, error.__traceback__)


sys.excepthook = _hush

import atexit  # noqa: E402
import os  # noqa: E402
from threading import active_count  # noqa: E402
from typing import NoReturn  # noqa: E402

from stationpoint.cli import main as run  # noqa: E402


def main() -> NoReturn:
    """Run the command line. All is written then, and the system takes back what is held sooner than the
    interpreter would; but where another thread is left, it may have to be ended in its own way."""
    try:
        run()
    except SystemExit as end:
        if active_count() == 1 and isinstance(end.code, int):
            atexit.register(_end_at_once, end.code)  # the last that is registered comes first
        raise


def _end_at_once(code: int) -> None:
    for stream in (sys.stdout, sys.stderr):
        if stream is not None:
            stream.flush()
    os._exit(code)


if __name__ == "__main__":
    main()
