"""What every page of the program shares: its frame, its style, safe text, the drawing of plots."""
