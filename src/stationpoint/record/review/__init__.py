"""The page for review: one file that stands alone, for people who never open a terminal."""
