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
from typing import NoReturn  # noqa: E402

from stationpoint.cli import main as run  # noqa: E402


def main() -> NoReturn:
    """Run the command line. Once it has tidied up, processes included, the system takes back what is held
    sooner than the interpreter would."""
    codes: list[int] = []
    atexit.register(_end_at_once, codes)  # what is registered later comes before it
    try:
        run()
    except SystemExit as end:
        if isinstance(end.code, int):
            codes.append(end.code)
        raise


def _end_at_once(codes: list[int]) -> None:
    if codes:
        for stream in (sys.stdout, sys.stderr):
            if stream is not None:
                stream.flush()
        os._exit(codes[0])


if __name__ == "__main__":
    main()
