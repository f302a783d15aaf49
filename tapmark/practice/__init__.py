"""A drawn runner whose every joint is known: for samples, practice and checks."""
