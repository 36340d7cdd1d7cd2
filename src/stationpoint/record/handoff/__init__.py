"""The hand-off: cameras as numbers in the convention of who ports them, and read back."""
