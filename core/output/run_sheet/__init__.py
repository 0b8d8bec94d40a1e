"""The run sheet, the PDF that goes to the machine and the paint bench."""
