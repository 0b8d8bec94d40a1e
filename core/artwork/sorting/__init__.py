"""What each shape is for, from all that the file tells of it."""
