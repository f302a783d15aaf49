"""The Review page, the page that prints, and two runs compared."""
