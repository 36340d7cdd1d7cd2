"""What is asked to be drawn, and what is asked of the frames."""
