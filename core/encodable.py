"""Words that any file can hold."""


def encodable(words: str) -> str:
    """The words with a question mark for what is no letter: a file's name may hold bytes that stand for none."""
    return words.encode("utf-8", "replace").decode("utf-8")
