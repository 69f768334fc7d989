"""A whole log on its way in: what is new in a file is brought into the log, kind by kind."""
