"""What any room may use and that knows no other room: errors, words, look, complaints, whole files, colour."""
