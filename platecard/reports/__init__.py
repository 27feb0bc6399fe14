"""What each command says, in words and as data."""
