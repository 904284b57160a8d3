"""What each act needs to know, taken from the marks of a text: one module per matter, no choice of act here."""
