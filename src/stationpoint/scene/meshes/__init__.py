"""Mesh files read: one format, one file."""
