"""The legend."""
