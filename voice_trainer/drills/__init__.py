"""What a drill is. Pure: reading it from a file belongs to `library`."""
