"""The commands, one a file: what each is asked and what it does. `screen` is what they share."""
