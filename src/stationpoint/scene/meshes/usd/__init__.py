"""The USD reader: a stage opened in a process of its own, and what it holds made into parts."""
