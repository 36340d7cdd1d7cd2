"""Readings of twins."""
