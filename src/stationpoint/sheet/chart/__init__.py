"""A reading against a swept field."""
