"""Publish: a finished history takes the place of the old one, whole or not at all."""
