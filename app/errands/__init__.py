"""What the maker sets off: asks what has to be asked, does it in the background, says what came of it."""
