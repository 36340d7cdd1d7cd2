"""What a study names, found in the scene."""
