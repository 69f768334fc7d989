"""The lead's review: one file a view."""
