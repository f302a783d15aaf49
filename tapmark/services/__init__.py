"""What the window and the command line both ask for, said once."""
