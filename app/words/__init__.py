"""How things are said: numbers, lengths, times, what was learned."""
