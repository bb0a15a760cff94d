"""Model: the tables of the contract are loaded into DuckDB and the models of sql/ are run on them."""
