"""What was practised, gathered from the journals; what is due, and how it goes. Students are told apart by name."""
