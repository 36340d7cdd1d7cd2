"""Readings of gaps."""
