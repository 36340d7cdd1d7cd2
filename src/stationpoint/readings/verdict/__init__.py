"""The brief against readings, and a limit in words."""
