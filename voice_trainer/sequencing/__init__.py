"""From what happens to what the trainer does next. Sans-I/O: events in, records and commands out."""
