"""`python -m stationpoint` is the command `stationpoint`."""

from stationpoint.cli import main

main()
