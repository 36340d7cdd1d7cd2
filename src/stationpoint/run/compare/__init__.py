"""Two records side by side: what changed, in words, and what of it is worse."""
