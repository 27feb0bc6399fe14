"""What the kitchen holds in its hands: each module composes one document from finished answers."""
