"""The Squad page, its forms, and what is done with a whole squad: copies, export, practice."""
