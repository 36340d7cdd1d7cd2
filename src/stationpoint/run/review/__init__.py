"""A study's page for review: drawn at every place, with all that was read of it as data."""
