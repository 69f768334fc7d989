"""Class: lessons, stacks side by side, the practice bench, the published starts."""
