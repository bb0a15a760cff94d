"""Keeping a workspace: its version, its health, backups, what is held on one client, and removing it.

Like `pipeline/update.py` these modules stand above the stages and may use them; none of them is used by a stage.
"""
