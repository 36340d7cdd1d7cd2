"""From a study's words to a camera."""
