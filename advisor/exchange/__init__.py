"""The whole log of a shop as a file: each kind of record, written and read."""
