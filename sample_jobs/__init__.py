"""Sample artwork: the signs of a small guest house."""
