"""Cameras handed to those who port them, and a port held against what was handed to it."""
