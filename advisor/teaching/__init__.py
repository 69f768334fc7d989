"""What a trainer shows a class."""
