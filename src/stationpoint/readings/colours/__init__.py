"""What the level's own colours do: how things stand out from what is beside them, what out-shouts what."""
