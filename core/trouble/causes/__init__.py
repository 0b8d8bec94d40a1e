"""What may have caused a fault: the table of causes, each with what speaks for and against it."""
