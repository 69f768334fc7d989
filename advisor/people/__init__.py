"""Who may do what in a shop, and how a person proves who they are."""
