"""Everything that shows results outside the widgets: the shell, its tables, notebook tables.

- `shell`, `shell_journal`  the commands; `shell_options`, `shell_trust` what they share
- `terminal`                tables and findings on a terminal
- `notebook`, `lessons`     tables in a notebook; what the lessons need beside the rooms
- `self_check`              whether what is installed belongs together

It takes finished results and gives text; nothing here computes.
"""
