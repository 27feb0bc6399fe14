"""Reading from outside: looking through folders, opening files, fetching earlier revisions from git."""
