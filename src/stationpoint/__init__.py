"""Contact sheets of camera variants, with readings of what a player could tell from each."""

__version__ = "0.1.0"
