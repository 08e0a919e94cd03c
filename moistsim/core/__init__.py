"""What every other room stands on. Each module here is public by itself."""
