"""Readings of targets."""
