"""The strategies that a scenario may name, one file each."""
