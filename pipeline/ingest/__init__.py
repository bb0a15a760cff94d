"""Ingest: files become sheets of text cells, every record numbered; what cannot be read is refused whole.

What arrives: the folders of a workspace. What leaves: `SourceFile`s (pipeline/contract/sheets.py), one a file,
in the order of their paths. Clean takes them next.
"""

from pipeline.ingest.read_files import read_folder

__all__ = ["read_folder"]
