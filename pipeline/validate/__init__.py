"""Validate: the gate between cleaning and loading.

What arrives: cleaned rows. What leaves: the rows that keep the contract, and a `rejected_row` for each that does
not. Rules come from the contract and are checked with great-expectations; accounts (every record has one fate)
are checked here too. Model takes the rows next.
"""
