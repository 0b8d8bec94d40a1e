"""The sheet: stock, faces and the turn between them, placement."""
