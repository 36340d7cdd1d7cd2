"""The close-up of a target's twin."""
