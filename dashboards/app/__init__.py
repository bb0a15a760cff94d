"""The script that Streamlit runs.

It stands apart from `pages/` on purpose: beside a folder of that name Streamlit would list the files itself
and pass over our navigation.
"""
