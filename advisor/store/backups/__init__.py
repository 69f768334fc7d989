"""Backups: made while the log is used, read back, kept by rule, put back."""
