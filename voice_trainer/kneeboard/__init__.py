"""The card of a procedure to look at: a page for a screen, a PDF for the knee."""
