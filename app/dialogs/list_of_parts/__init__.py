"""Many parts from a list: the list and its fields, a look at each row, sheets, files."""
