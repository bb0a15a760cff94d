"""Analyse: statistics on the models' tables — load–repetition curves, trends, states, next targets."""
