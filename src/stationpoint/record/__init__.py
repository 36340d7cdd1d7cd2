"""What leaves the program: records, tables, tickets, PNG files. Whole files or none."""
