"""What is open and what is shown, as values without tkinter: the session and one value a page."""
