"""One module a command; each holds `command`. Only here and in cli.py is anything printed."""
