"""Modes: what the pictures of a whole sheet are turned into; the layout stays."""
