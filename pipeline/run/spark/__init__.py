"""The same models on Spark: records as Parquet, sql/ translated, statistics as a grouped Arrow function.

What arrives: the connection with the records of an update, as for DuckDB. What leaves: the same tables, filled
from what Spark made, and the same findings. See README.md beside this file.
"""
