"""The command `stationpoint`, and `python -m stationpoint`.

What main() needs is imported first, and a Ctrl-C meanwhile ends the call as it does any other: by the signal,
without a traceback.
"""

import sys


def _hush(kind: type[BaseException], error: BaseException, _: object) -> None:
    if not issubclass(kind, KeyboardInterrupt):
        sys.__excepthook__(kind, error, error.__traceback__)


sys.excepthook = _hush

from stationpoint.cli import main  # noqa: E402

if __name__ == "__main__":
    main()
