"""Ranges in, set-ups that hold out: trials, searches over one field and over several, what to give up."""
