"""What the coach has marked, as frozen values, with pure edits and undo."""
