"""What people see: one file a page; forms and charts only, no rules."""
