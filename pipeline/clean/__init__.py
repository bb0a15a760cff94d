"""Clean: the cells of a file become sets, or a named reason why they do not.

What arrives: sheets of text cells from ingest. What leaves: `logged_set` candidates and the fate of every
record (`rejected_row`, `waiting_row`, `ignored_row`, `duplicate_row`, `open_question`). Validate takes it next.

The way through: headers and layout say what each column holds; `unfold` turns every layout into one entry a
set, still as text; `cells` read each distinct text once; `decide` settles client, date, unit and exercise;
`slips` and `resends` compare with what is already known.
"""
