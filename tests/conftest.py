"""What every test runs under."""

from __future__ import annotations

import os
import signal

from hypothesis import HealthCheck, settings

# Python's own settings of this machine (PYTHONUNBUFFERED, PYTHONPATH and the like) reach no process that a
# test starts: what holds with them need not hold for somebody who has none.
for setting in [name for name in os.environ if name.startswith("PYTHON")]:
    del os.environ[setting]

# A shell that runs something in the background has it ignore Ctrl-C, and all that it starts; what the tests
# start is stopped by it, as in the foreground.
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)

# Random examples are the same in every run, and no slow machine fails one.
settings.register_profile(
    "fixed", derandomize=True, database=None, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("fixed")
