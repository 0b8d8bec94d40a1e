"""How everything looks: colours, styles, icons."""
