"""Pictures by casting rays (Embree)."""
