"""Squad folders on the disk: formats, consent, lock, back-up, merge, delete."""
