"""Each station of the reader."""
