"""Setwright's pipeline: ingest → clean → validate → model → analyse → publish."""

__version__ = "0.1.0"
