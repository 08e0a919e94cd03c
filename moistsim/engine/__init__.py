"""The compiled run: forcing arrays and parameters in, hourly sums and states out."""
