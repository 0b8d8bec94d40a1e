"""Pictures told from other files by their first bytes."""


def is_picture(head: bytes) -> bool:
    """Whether these first bytes of a file are those of a picture that can be read."""
    return (
        head.startswith((b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff", b"II*\0", b"MM\0*"))
        or (head.startswith(b"BM") and len(head) >= 18 and head[6:10] == b"\0\0\0\0")
        or (head.startswith(b"RIFF") and head[8:12] == b"WEBP")
    )
