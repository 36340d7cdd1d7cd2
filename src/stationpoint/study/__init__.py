"""Studies: the study file, its complaints, its sweep."""
