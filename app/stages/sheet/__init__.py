"""Sheet: the piece, its flaws, where the artwork lies on it."""
