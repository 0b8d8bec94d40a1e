"""The main window, its menus, rail and status line, and how it starts."""
