"""Parsers of single cells: text in, a small frozen reading out. Pure; none of them raises on any text."""
