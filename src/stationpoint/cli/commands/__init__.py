"""The commands: their arguments, options and help. What each does lies in actions/, imported when it runs."""
