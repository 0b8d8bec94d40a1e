"""One design and a list of names: the fields that the list fills, the parts, the sheets they are laid on."""
