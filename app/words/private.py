"""What a report may say of whose computer it is: nothing."""

import re
from pathlib import Path


def without_home(text: str) -> str:
    """The text with the home folder as ``~``, and its name left out of other folders' paths."""
    home = Path.home()
    for folder in {str(home), str(home.resolve()), home.as_posix()}:
        if len(folder) > 1:
            text = re.sub(re.escape(folder) + r"(?![\w.-])", "~", text, flags=re.IGNORECASE)
    if len(home.name) < 2:
        return text
    return re.sub(rf"(?<=[/\\]){re.escape(home.name)}(?=[/\\])", "…", text, flags=re.IGNORECASE)
