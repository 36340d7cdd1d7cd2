"""Plan and side view."""
