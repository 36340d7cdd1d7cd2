"""What any room may use and that knows no other room; used by module, as it has no door."""
