"""What the window and the command line both ask for, said once.

An errand carries values between rooms: a visit's files become results, an assessment, a page.
It may import every room but cli and app, holds no state, prints nothing and knows no clock:
today's date is an argument.
"""
