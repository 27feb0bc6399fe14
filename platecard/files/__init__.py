"""The edges that read: folders looked through, files opened, earlier copies taken from version control."""
