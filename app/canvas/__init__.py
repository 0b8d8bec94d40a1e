"""The two faces of the sheet, drawn from a Plan."""
