"""Work on several processes."""
