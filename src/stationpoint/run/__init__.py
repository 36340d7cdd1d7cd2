"""The pipeline in order: a study made ready, its cases drawn and read, whole sheets."""
